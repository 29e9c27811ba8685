"""The command line: one command for each thing a person can ask for."""

import getpass
import os
import socket
import sys
import tempfile
import time
import traceback
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import click

from fleetcool import __version__
from fleetcool.errors import FleetcoolError
from jobs.advise_command import advise
from jobs.asked import Asked, opened, print_json, progress, say
from jobs.coolant_commands import coolant
from jobs.plan_command import plan
from jobs.vehicle_commands import vehicle
from jobs.visit_commands import visit

if TYPE_CHECKING:
    from fleetcool.actions.take import Taken
    from fleetcool.store.engine import Store
    from jobs.where import Home

FAULT_OF_OURS = 3


@click.group(epilog="Example: fleetcool demo --into demo")
@click.version_option(__version__)
@click.option("--store", metavar="URL", help="Address of the store (else FLEETCOOL_STORE).")
@click.option("--as-of", metavar="DAY", help="The day taken as today, like 2027-01-28.")
@click.option("--units", type=click.Choice(["us", "metric"]), help="Units on screen and in books.")
@click.option("--by", metavar="NAME", help="Who does it; the account's name unless given.")
@click.pass_context
def main(
    context: click.Context,
    store: str | None,
    as_of: str | None,
    units: Literal["us", "metric"] | None,
    by: str | None,
) -> None:
    """Plan the upkeep of the cooling systems of a vehicle fleet."""
    context.obj = Asked(store, as_of, units, by or _account())


def _account() -> str:
    try:
        return getpass.getuser()
    except (KeyError, OSError):
        return "unknown"


main.add_command(advise)
main.add_command(coolant)
main.add_command(plan)
main.add_command(visit)
main.add_command(vehicle)


@main.command(epilog="Example: fleetcool demo --into demo")
@click.option("--into", type=click.Path(path_type=Path), default=Path("demo"), show_default=True)
@click.pass_obj
def demo(asked: Asked, into: Path) -> None:
    """Make a store with the demo fleet and the week's books."""
    from jobs.demo import make_demo

    with progress("The demo fleet") as stage:
        text = make_demo(into, stage, by=asked.by)
    click.echo(text)


@main.command(epilog="Example: fleetcool starter fleet.xlsx")
@click.argument("file", type=click.Path(path_type=Path))
@click.pass_obj
def starter(asked: Asked, file: Path) -> None:
    """Write an empty intake workbook with headings, drop-downs, notes and an example row."""
    from reports.starter import write_starter

    if file.exists():
        raise FleetcoolError(f"{file} is there already; name a new file, nothing was written.")
    write_starter(file, asked.home().settings)
    click.echo(f"{file} is written: fill in vehicles and readings first, then fleetcool take it.")


@main.command(epilog="Example: fleetcool take fleet.xlsx")
@click.argument("paths", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option("--to-fix", type=click.Path(path_type=Path), default=Path("to_fix.xlsx"))
@click.option("--json", "as_json", is_flag=True, help="Print for programs.")
@click.pass_obj
def take(asked: Asked, paths: tuple[Path, ...], to_fix: Path, *, as_json: bool) -> None:
    """Take in tables, returned sheets and feeds; what is held goes to a to-fix workbook."""
    import dataclasses

    from jobs.taking import take_and_follow
    from reports.as_json import take_json
    from reports.screen import take_screen
    from reports.to_fix import write_to_fix

    home = asked.home()
    moment = asked.moment(home)
    with opened(home) as store, progress("Taking in"):
        taken = take_and_follow(store, paths, settings=home.settings, moment=moment)
        opened_now = _opened_now(home, store, taken, moment.as_of)
    judged = taken.judged
    if judged is None:
        if as_json:
            print_json({"intake": taken.intake, "tables": [], "held": [], "causes": []})
        else:
            click.echo(f"Known as intake {taken.intake}: these files were taken in before.")
        return
    judged = dataclasses.replace(judged, warnings=taken.warnings)
    if as_json:
        print_json(take_json(judged, taken.intake))
    else:
        say(take_screen(judged, taken.intake))
        for text in opened_now:
            click.echo(f"\n{text}")
    if not (judged.faults or judged.questions):
        return
    write_to_fix(to_fix, dataclasses.replace(judged, held=taken.held), home.settings, moment.as_of)
    click.echo(f"Correct {to_fix} and take it in again.", err=True)
    if judged.faults:
        sys.exit(1)


def _opened_now(home: "Home", store: "Store", taken: "Taken", as_of: int) -> tuple[str, ...]:
    """Return what follows from each visit that was opened at once by rows of *Now*."""
    if taken.judged is None or not taken.judged.opens:
        return ()
    from fleetcool.actions.open_visit import opened_in
    from reports.opened_screen import opened_text

    found = opened_in(store, taken.intake, settings=home.settings, as_of=as_of)
    return tuple(opened_text(one) for one in found)


@main.command(epilog="Example: fleetcool withdraw 7")
@click.argument("intake", type=int)
@click.pass_obj
def withdraw(asked: Asked, intake: int) -> None:
    """Take an intake back: its rows no longer count; nothing is deleted."""
    from fleetcool.actions.withdraw import take_back

    home = asked.home()
    with opened(home) as store:
        for sentence in take_back(store, intake, moment=asked.moment(home)):
            click.echo(sentence)


@main.command(epilog="Example: fleetcool due --weeks 8")
@click.option("--weeks", type=click.IntRange(1, 520), default=26, show_default=True)
@click.option("--json", "as_json", is_flag=True, help="Print for programs.")
@click.pass_obj
def due(asked: Asked, weeks: int, *, as_json: bool) -> None:
    """Show what falls due, by when, how sure, and why."""
    from reports.as_json import due_json
    from reports.screen import due_screen

    outlook = asked.outlook()
    if as_json:
        print_json(due_json(outlook, weeks))
    else:
        say(due_screen(outlook, weeks))


@main.command(epilog="Example: fleetcool parts --weeks 8")
@click.option("--weeks", type=click.IntRange(1, 520), default=26, show_default=True)
@click.option("--json", "as_json", is_flag=True, help="Print for programs.")
@click.pass_obj
def parts(asked: Asked, weeks: int, *, as_json: bool) -> None:
    """Show what parts and coolant are needed, what is there, and what to order by when."""
    from reports.as_json import parts_json
    from reports.screen import parts_screen

    outlook = asked.outlook()
    if as_json:
        print_json(parts_json(outlook, weeks))
    else:
        say(parts_screen(outlook))


@main.command(epilog="Example: fleetcool week --of 2027-W05")
@click.option("--of", "of", metavar="WEEK", help="ISO week; the one that starts next if not given.")
@click.option("--out", type=click.Path(path_type=Path), help="Folder of the books.")
@click.option("--home", "folder", type=click.Path(path_type=Path), hidden=True)
@click.option("--once/--again", default=False, hidden=True)
@click.pass_obj
def week(
    asked: Asked, of: str | None, out: Path | None, folder: Path | None, *, once: bool
) -> None:
    """Project, plan and forecast, write the week's books and publish them."""
    from fleetcool.model import days
    from jobs.week import Order, check_week, make_issue
    from reports.trust import doubts

    home = asked.home(folder)
    as_of = asked.moment(home).as_of
    name = days.next_week(as_of) if of is None else check_week(of)
    order = Order(name, as_of, out or home.out, owner(), time.time, again=not once)
    with opened(home) as store, progress(f"The books of {name}") as stage:
        issue = make_issue(store, home.settings, order, stage)
    if issue is None:
        click.echo(f"The books of {name} are done already.")
        return
    click.echo(f"The books of {name}, edition {issue.edition}, lie in {order.out / name}:")
    for file in issue.files:
        click.echo(f"  {file.name}")
    for doubt in doubts(issue.outlook.back.audit)[:1]:
        click.echo(f"{doubt} See the sheet Trust of manager.xlsx.")
    if not issue.published:
        click.echo("An issue of this or a later day stands already, so these books change no plan.")


def owner() -> str:
    """Return who holds a claim: machine and process."""
    return f"{socket.gethostname()}, process {os.getpid()}"


@main.command(epilog="Example: fleetcool clock")
@click.pass_obj
def clock(asked: Asked) -> None:
    """Stay up and do everything by the timetable."""
    from jobs.clock import Watch, stay_up, wall_clock

    home = asked.home()
    with opened(home) as store:
        click.echo(f"Looking every minute; books go to {home.out}. Ctrl-C stops it.")
        stay_up(Watch(home, store, owner(), wall_clock))


@main.command(epilog="Example: fleetcool ledger")
@click.pass_obj
def ledger(asked: Asked) -> None:
    """Show what ran by the clock and by hand, when, and how it ended."""
    from fleetcool.store.ledger import ledger_lines
    from reports.screen import ledger_screen

    home = asked.home()
    with opened(home) as store:
        say(ledger_screen(ledger_lines(store), home.zone))


@main.command(epilog="Example: fleetcool backup fleet-backup.db")
@click.argument("file", type=click.Path(path_type=Path))
@click.pass_obj
def backup(asked: Asked, file: Path) -> None:
    """Write a copy of the store into a file."""
    from fleetcool.store.backup import backup as write_backup

    if file.exists():
        raise FleetcoolError(f"{file} is there already; name a new file, nothing was written.")
    with opened(asked.home()) as store:
        write_backup(store, file)
    click.echo(f"The store is backed up in {file}.")


@main.command(epilog="Example: fleetcool restore fleet-backup.db")
@click.argument("file", type=click.Path(path_type=Path, exists=True))
@click.pass_obj
def restore(asked: Asked, file: Path) -> None:
    """Read a backup into an empty store."""
    from fleetcool.store.backup import restore as read_backup

    home = asked.home()
    read_backup(file, home.store_url)
    click.echo(f"{file} is restored into {home.store_url}.")


@main.command(epilog="Example: fleetcool check")
@click.pass_obj
def check(asked: Asked) -> None:
    """Name rows nobody can place and rows that are held."""
    from fleetcool.actions.check import check as find
    from fleetcool.model import days

    home = asked.home()
    with opened(home) as store:
        found = find(store, str(days.iso(asked.moment(home).as_of)))
    for sentence in found or ("All in order.",):
        click.echo(sentence)
    if found:
        sys.exit(1)


def run() -> None:
    """Run the command line; faults become a sentence and an exit code, never a traceback."""
    for stream in (sys.stdout, sys.stderr):
        stream.reconfigure(encoding="utf-8", errors="replace")  # type: ignore[union-attr]  # always a text stream here
    try:
        main(standalone_mode=False)
    except click.ClickException as fault:
        fault.show()
        sys.exit(fault.exit_code)
    except (click.Abort, KeyboardInterrupt):
        sys.exit(130)
    except FleetcoolError as fault:
        click.echo(str(fault), err=True)
        sys.exit(1)
    except Exception:  # noqa: BLE001 - the outermost edge
        log = Path(tempfile.gettempdir()) / f"fleetcool-fault-{os.getpid()}.log"
        log.write_text(traceback.format_exc(), encoding="utf-8")
        click.echo(
            f"A fault of fleetcool itself; nothing was stored. The details lie in {log}.", err=True
        )
        sys.exit(FAULT_OF_OURS)


if __name__ == "__main__":
    run()
