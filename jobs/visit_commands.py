"""The commands about one visit: what was decided about it, by hand."""

import click

from jobs.asked import Asked, opened


@click.group(epilog="Example: fleetcool visit fix 104-27W05b --on 2027-02-03")
def visit() -> None:
    """Say what was decided about a visit."""


def _decision(what: str, text: str, *, needs_day: bool) -> None:
    @visit.command(what, help=text, epilog=_visit_example(what, needs_day=needs_day))
    @click.argument("number")
    @click.option("--on", required=needs_day, metavar="DAY", help="The day it speaks of.")
    @click.option("--reason", default="", metavar="TEXT")
    @click.pass_obj
    def command(asked: Asked, number: str, on: str | None, reason: str) -> None:
        from fleetcool.actions.decide import decide
        from jobs.where import as_of_day

        home = asked.home()
        moment = asked.moment(home)
        day = float("nan") if on is None else float(as_of_day(home, on, moment.now))
        with opened(home) as store:
            intake = decide(
                store, number, what.replace("-", " "), moment=moment, on=day, reason=reason
            )
        click.echo(
            f"Kept as intake {intake}: visit {number} {what.replace('-', ' ')}; "
            f"fleetcool withdraw {intake} takes it back."
        )


def _visit_example(what: str, *, needs_day: bool) -> str:
    return f"Example: fleetcool visit {what} 104-27W05b" + (" --on 2027-02-03" if needs_day else "")


_decision("fix", "Fix a visit on a day.", needs_day=True)
_decision("done", "Say that a visit was done as planned, and on which day.", needs_day=True)
_decision("not-come", "Say that the vehicle did not come.", needs_day=False)
_decision("put-off", "Put a visit off; not before the day given.", needs_day=True)
_decision("let-go", "Let a visit go.", needs_day=False)
