"""The commands that reckon with coolant: freezing, boiling, mixing, draining, dosing, kinds."""

from collections.abc import Callable
from typing import TYPE_CHECKING

import click

from jobs.asked import Asked, print_json

if TYPE_CHECKING:
    from reports.coolant_answers import Answer

_Command = Callable[..., None]
_TEMPERATURES = {"ignore_unknown_options": True}  # so that -37 is a temperature, not an option
_LITRES = "L, or with a unit: 14L, 3.7usgal, 3.7impgal."


@click.group(epilog="Example: fleetcool coolant freeze eg 50")
def coolant() -> None:
    """Reckon with coolant: freezing and boiling, mixing, draining, dosing, what may mix."""


_as_json = click.option("--json", "as_json", is_flag=True, help="Print for programs, SI units.")
_volume = click.option("--volume", required=True, metavar="L", help=f"What it holds; {_LITRES}")
_container = click.option(
    "--container", metavar="L", help="Size of a container: say how many whole ones it takes."
)


def _show(answer: "Answer", *, as_json: bool) -> None:
    if as_json:
        print_json(dict(answer.content))
        return
    for line in answer.lines:
        click.echo(line)


def _us(asked: Asked) -> bool:
    return asked.home().settings.units == "us"


@coolant.command(epilog="Example: fleetcool coolant freeze eg 50")
@click.argument("base")
@click.argument("percent")
@click.option("--mass", is_flag=True, help="PERCENT is by mass, as a laboratory may report it.")
@_as_json
@click.pass_obj
def freeze(asked: Asked, base: str, percent: str, *, mass: bool, as_json: bool) -> None:
    """At which temperature a mix freezes; BASE is eg or pg, PERCENT of glycol by volume."""
    from jobs.quantities import read_percent
    from reports.coolant_answers import freeze_answer

    share = read_percent(percent, "PERCENT")
    answer = freeze_answer(base.lower(), share, by_mass=mass, us=_us(asked))
    _show(answer, as_json=as_json)


@coolant.command(epilog="Example: fleetcool coolant wanted eg -37", context_settings=_TEMPERATURES)
@click.argument("base")
@click.argument("freeze_at", metavar="FREEZE_C")
@_as_json
@click.pass_obj
def wanted(asked: Asked, base: str, freeze_at: str, *, as_json: bool) -> None:
    """How much glycol freezes at FREEZE_C (°C, or like -20F); BASE is eg or pg."""
    from jobs.quantities import read_celsius
    from reports.coolant_answers import wanted_answer

    freeze_c = read_celsius(freeze_at, "FREEZE_C")
    _show(wanted_answer(base.lower(), freeze_c, us=_us(asked)), as_json=as_json)


@coolant.command(epilog="Example: fleetcool coolant boil eg 50 --cap 15psi --altitude 1500")
@click.argument("base")
@click.argument("percent")
@click.option("--cap", default="0", metavar="KPA", help="What the cap holds; kPa, or like 15psi.")
@click.option("--altitude", default="0", metavar="M", help="Above the sea; m, or like 5000ft.")
@_as_json
@click.pass_obj
def boil(  # noqa: PLR0913 - each is one option of the command
    asked: Asked, base: str, percent: str, cap: str, altitude: str, *, as_json: bool
) -> None:
    """Where a mix boils; BASE is eg or pg, PERCENT of glycol by volume."""
    from jobs.quantities import read_kpa, read_metres, read_percent
    from reports.coolant_answers import boil_answer

    answer = boil_answer(
        base.lower(),
        read_percent(percent, "PERCENT"),
        read_kpa(cap, "--cap"),
        read_metres(altitude, "--altitude"),
        us=_us(asked),
    )
    _show(answer, as_json=as_json)


@coolant.command(epilog="Example: fleetcool coolant mix --volume 14 --now 0 --target 50 --drains 6")
@_volume
@click.option("--now", required=True, metavar="PERCENT", help="Glycol in it; 0 after a flush.")
@click.option("--target", required=True, metavar="PERCENT", help="Glycol wanted.")
@click.option(
    "--source", metavar="PERCENT", help="Glycol in what is put in; 100 to raise, 0 to lower."
)
@click.option("--drains", metavar="L", help="What comes out in one drain; all of it unless said.")
@_container
@_as_json
@click.pass_obj
def mix(  # noqa: PLR0913, PLR0917 - each is one option of the command
    asked: Asked,
    volume: str,
    now: str,
    target: str,
    source: str | None,
    drains: str | None,
    container: str | None,
    *,
    as_json: bool,
) -> None:
    """Litres to drain and replace so that a system holds the glycol wanted."""
    from fleetcool.coolant.mixing import replace
    from fleetcool.coolant.sensible import check_target
    from jobs.quantities import read_litres, read_percent
    from reports.coolant_litres import MixAsked, mix_answer

    litres = read_litres(volume, "--volume")
    share, goal = read_percent(now, "--now"), read_percent(target, "--target")
    check_target(goal)
    out = None if drains is None else read_litres(drains, "--drains")
    usual = "100" if goal > share else "0"
    found = replace(
        litres,
        share,
        goal,
        read_percent(usual if source is None else source, "--source"),
        out,
    )
    told = MixAsked(litres, share, goal, out)
    _show(mix_answer(found, told, _size(container), us=_us(asked)), as_json=as_json)


@coolant.command(
    "top-up", epilog="Example: fleetcool coolant top-up --volume 20 --now 48 --add 3 --target 50"
)
@_volume
@click.option("--now", required=True, metavar="PERCENT", help="Glycol in what is left in it.")
@click.option("--add", required=True, metavar="L", help=f"What is missing; {_LITRES}")
@click.option("--source", metavar="PERCENT", help="Glycol in what is put in; what does it reach?")
@click.option("--target", metavar="PERCENT", help="Glycol wanted; what must be put in?")
@_container
@_as_json
@click.pass_obj
def top_up(  # noqa: PLR0913, PLR0917 - each is one option of the command
    asked: Asked,
    volume: str,
    now: str,
    add: str,
    source: str | None,
    target: str | None,
    container: str | None,
    *,
    as_json: bool,
) -> None:
    """What a top-up reaches, or what to put in to reach a target."""
    from fleetcool.coolant.mixing import top_up_to, top_up_with
    from fleetcool.coolant.sensible import check_target
    from jobs.quantities import read_litres, read_percent
    from reports.coolant_litres import top_up_answer

    if (source is None) == (target is None):
        raise click.UsageError("Say either --source or --target.")
    litres, added = read_litres(volume, "--volume"), read_litres(add, "--add")
    share = read_percent(now, "--now")
    if target is not None:
        goal = read_percent(target, "--target")
        check_target(goal)
        found = top_up_to(litres, share, added, goal)
    else:
        found = top_up_with(litres, share, added, read_percent(str(source), "--source"))
    _show(top_up_answer(found, _size(container), us=_us(asked)), as_json=as_json)


@coolant.command(epilog="Example: fleetcool coolant refill --volume 14 --drains 9 --target 50")
@_volume
@click.option("--drains", required=True, metavar="L", help="What comes out; the rest stays water.")
@click.option("--target", required=True, metavar="PERCENT", help="Glycol wanted.")
@_container
@_as_json
@click.pass_obj
def refill(  # noqa: PLR0913 - each is one option of the command
    asked: Asked, volume: str, drains: str, target: str, container: str | None, *, as_json: bool
) -> None:
    """What to put in after a flush with water, in one fill."""
    from fleetcool.coolant.mixing import refill_after_flush
    from fleetcool.coolant.sensible import check_target
    from jobs.quantities import read_litres, read_percent
    from reports.coolant_litres import top_up_answer

    goal = read_percent(target, "--target")
    check_target(goal)
    found = refill_after_flush(
        read_litres(volume, "--volume"), read_litres(drains, "--drains"), goal
    )
    _show(top_up_answer(found, _size(container), us=_us(asked)), as_json=as_json)


@coolant.command(epilog="Example: fleetcool coolant drain --share 45 --left 5")
@click.option("--share", required=True, metavar="PERCENT", help="What one drain takes out.")
@click.option("--left", required=True, metavar="PERCENT", help="Old coolant that may be left.")
@_as_json
def drain(share: str, left: str, *, as_json: bool) -> None:
    """How many drains and fills until little enough of the old coolant is left."""
    from jobs.quantities import read_percent
    from reports.coolant_litres import drain_answer

    answer = drain_answer(read_percent(share, "--share"), read_percent(left, "--left"))
    _show(answer, as_json=as_json)


@coolant.command(
    epilog="Example: fleetcool coolant dose --volume 13usgal --now 1.5 --target 2.3 --per usgal "
    "--filter-units 8"
)
@_volume
@click.option("--now", required=True, type=float, help="Units tested, by litre.")
@click.option("--target", required=True, type=float, help="Units wanted, by litre.")
@click.option(
    "--per",
    type=click.Choice(["l", "usgal"], case_sensitive=False),
    default="l",
    show_default=True,
    help="What --now and --target count by.",
)
@click.option("--filter-units", type=int, default=0, help="Units in one charged filter.")
@click.option("--kind", default="conventional heavy", show_default=True, help="Coolant kind.")
@_as_json
def dose(  # noqa: PLR0913, PLR0917 - each is one option of the command
    volume: str, now: float, target: float, per: str, filter_units: int, kind: str, *, as_json: bool
) -> None:
    """Additive units a system needs, never past the upper limit of its kind."""
    from fleetcool.coolant.dose import dose as reckon
    from fleetcool.coolant.dose import most_additive
    from fleetcool.knowledge.reader import in_force
    from fleetcool.units import LITRES_PER_US_GALLON
    from jobs.quantities import read_litres
    from reports.coolant_litres import dose_answer

    scale = LITRES_PER_US_GALLON if per == "usgal" else 1.0
    most = most_additive(in_force({}, _today()).bands, kind)
    litres = read_litres(volume, "--volume")
    found = reckon(litres, now / scale, target / scale, most, filter_units)
    _show(dose_answer(found, per), as_json=as_json)


@coolant.command(epilog="Example: fleetcool coolant kinds OAT conventional")
@click.argument("added", metavar="A")
@click.argument("held", metavar="B")
@click.option("--volume", metavar="L", help=f"What it holds; {_LITRES}")
@_as_json
@click.pass_obj
def kinds(asked: Asked, added: str, held: str, volume: str | None, *, as_json: bool) -> None:
    """Whether coolant A may top up coolant B, and what to do once they are mixed."""
    from fleetcool.coolant.advice import advise, find_coolant
    from fleetcool.errors import NotUsableError
    from fleetcool.knowledge.reader import in_force
    from jobs.quantities import read_litres
    from reports.coolant_kinds import kinds_answer

    known = in_force({}, _today())
    advice = advise(find_coolant(added, known.coolants), find_coolant(held, known.coolants), known)
    litres = None if volume is None else read_litres(volume, "--volume")
    if litres is not None and litres <= 0:
        raise NotUsableError("--volume", f"{litres:g} L", "more than 0 L", "correct it")
    _show(kinds_answer(advice, litres, us=_us(asked)), as_json=as_json)


def _size(container: str | None) -> float | None:
    from jobs.quantities import read_litres

    return None if container is None else read_litres(container, "--container")


def _today() -> int:
    import time

    return int(time.time() // 86400)
