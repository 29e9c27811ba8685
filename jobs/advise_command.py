"""The command about limits: what the fleet's own failures say, on screen or for programs."""

import click

from jobs.asked import Asked, print_json, say


@click.command(epilog="Example: fleetcool advise")
@click.option("--json", "as_json", is_flag=True, help="Print for programs.")
@click.pass_obj
def advise(asked: Asked, *, as_json: bool) -> None:
    """Show which limits the fleet's failures speak against, and which parts last longer.

    Nothing is changed: who agrees writes the row that is named into the table limits.
    """
    from reports.advice_screen import advice_json, advice_screen

    outlook = asked.outlook(in_full=True)
    if as_json:
        print_json(advice_json(outlook))
    else:
        say(advice_screen(outlook))
