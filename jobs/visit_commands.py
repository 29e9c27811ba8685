"""The commands about one visit: open it, and what was decided about it, by hand."""

import math
import time
from pathlib import Path
from typing import TYPE_CHECKING

import click

from jobs.asked import Asked, opened, print_json

if TYPE_CHECKING:
    from jobs.where import Home


@click.group(epilog="Example: fleetcool visit fix 104-27W05b --on 2027-02-03")
def visit() -> None:
    """Open a visit, or say what was decided about one."""


@visit.command(
    "open",
    epilog='Example: fleetcool visit open 104 --for pump --also "drive belt" --book job.xlsx',
)
@click.argument("unit")
@click.option(
    "--for", "wanted", multiple=True, required=True, metavar="PLACE", help="A place or service."
)
@click.option("--also", multiple=True, metavar="SERVICE", help="Done with it; may come again.")
@click.option("--with-planned", is_flag=True, help="Take over the services of its next visit.")
@click.option("--on", metavar="DAY", help="The day it comes in; today when not given.")
@click.option("--reason", default="", metavar="TEXT", help="What happened.")
@click.option("--book", type=click.Path(dir_okay=False, path_type=Path), metavar="FILE.xlsx")
@click.option("--json", "as_json", is_flag=True, help="Print it for programs.")
@click.pass_obj
def open_(  # noqa: PLR0913, PLR0917 - one option each
    asked: Asked,
    unit: str,
    wanted: tuple[str, ...],
    also: tuple[str, ...],
    with_planned: bool,  # noqa: FBT001 - a flag of the command line
    on: str | None,
    reason: str,
    book: Path | None,
    as_json: bool,  # noqa: FBT001 - a flag of the command line
) -> None:
    """Open a visit for a vehicle that broke down: its number, its parts, its job sheet at once.

    Prints what is worth doing while it is open and which visits it pushes out.
    """
    from fleetcool.actions.open_visit import open_visit
    from reports.opened_screen import opened_json, opened_text, sheet_text, write_job_sheet

    home = asked.home()
    _check_book(book)
    with opened(home) as store:
        moment = asked.moment(home)
        found = open_visit(
            store,
            unit,
            wanted,
            settings=home.settings,
            moment=moment,
            on=_day(home, on, moment.now, "--on"),
            reason=reason,
            also=also,
            with_planned=with_planned,
        )
    if book is not None:
        write_job_sheet(found, book)
    if as_json:
        print_json(opened_json(found))
        return
    click.echo(opened_text(found))
    click.echo()
    click.echo(sheet_text(found) if book is None else f"The job sheet is in {book}.")


def _decision(what: str, text: str, *, day: str = "may") -> None:
    """Add a command that keeps one decision; `day` tells whether its day must or may be said."""

    @visit.command(what, help=text, epilog=_visit_example(what, needs_day=day == "must"))
    @click.argument("number")
    @click.option("--on", required=day == "must", metavar="DAY", help="The day it speaks of.")
    @click.option("--reason", default="", metavar="TEXT")
    @click.pass_obj
    def command(asked: Asked, number: str, on: str | None, reason: str) -> None:
        _keep(asked, number, what.replace("-", " "), on=on, reason=reason)


def _visit_example(what: str, *, needs_day: bool) -> str:
    return f"Example: fleetcool visit {what} 104-27W05b" + (" --on 2027-02-03" if needs_day else "")


_decision("fix", "Fix a visit on a day.", day="must")
_decision("here", "Say that the vehicle is in the shop, early or not.")
_decision("done", "Say that a visit was done as planned, and on which day.", day="must")
_decision("not-come", "Say that the vehicle did not come.")
_decision("put-off", "Put a visit off; not before the day given.", day="must")
_decision("let-go", "Let a visit go.")


@visit.command("wait", epilog="Example: fleetcool visit wait 104-27W05b --until 2027-02-09")
@click.argument("number")
@click.option("--until", metavar="DAY", help="The last day it waits; a week when not given.")
@click.option("--reason", default="", metavar="TEXT", help="What it waits for.")
@click.pass_obj
def wait(asked: Asked, number: str, until: str | None, reason: str) -> None:
    """Say that the vehicle waits in its bay, for a part perhaps; it keeps the bay."""
    _keep(asked, number, "waiting", until=until, reason=reason)


@visit.command("split-off", epilog='Example: fleetcool visit split-off 104-27W05b "pack cleaning"')
@click.argument("number")
@click.argument("service")
@click.option("--reason", default="", metavar="TEXT")
@click.pass_obj
def split_off(asked: Asked, number: str, service: str, reason: str) -> None:
    """Take a service out of a visit, into one of its own."""
    _keep(asked, number, "split off", service=service, reason=reason)


def _keep(  # noqa: PLR0913 - the pieces of one decision
    asked: Asked,
    number: str,
    what: str,
    *,
    on: str | None = None,
    until: str | None = None,
    service: str = "",
    reason: str = "",
) -> None:
    from fleetcool.actions.decide import compared, decide, outlook_now
    from fleetcool.visits.decision_costs import Decision
    from reports.decided_screen import decided_text

    home = asked.home()
    first = _day(home, on, time.time(), "--on")
    last = _day(home, until, time.time(), "--until")
    with opened(home) as store:
        moment = asked.moment(home)
        before = outlook_now(store, home.settings, moment)
        intake = decide(
            store,
            number,
            what,
            moment=moment,
            on=first,
            until=last,
            service=service,
            reason=reason,
        )
        decision = Decision(number, "", "", what, first, last, service)
        try:
            after = outlook_now(store, home.settings, moment)
            said = decided_text(compared(intake, decision, before, after))
        except Exception as fault:  # noqa: BLE001 - it is kept; only what is said of it fails
            said = (
                f"Kept as intake {intake}: visit {number} {what}; what follows from it could not "
                f"be said ({type(fault).__name__}: {fault}). "
                f"fleetcool withdraw {intake} takes it back."
            )
    click.echo(said)


def _day(home: "Home", given: str | None, now: float, thing: str) -> float:
    """Return a day given by hand [day number], NaN when none is given."""
    from jobs.where import as_of_day

    return math.nan if given is None else float(as_of_day(home, given, now, thing))


def _check_book(book: Path | None) -> None:
    from fleetcool.errors import NotUsableError

    if book is not None and book.suffix.lower() != ".xlsx":
        raise NotUsableError("--book", f'"{book.name}"', "a name that ends in .xlsx", "name it so")
