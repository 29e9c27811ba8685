"""The command about the plan: its visits and weeks, or variants of it side by side."""

import click

from jobs.asked import Asked, opened, print_json, progress, say


@click.command(epilog="Example: fleetcool plan --weeks 4 --with hours=+8@NORTH")
@click.option("--weeks", type=click.IntRange(1, 520), default=26, show_default=True)
@click.option(
    "--with",
    "variants",
    multiple=True,
    metavar="WHAT=AMOUNT@DEPOT[:WHEN]",
    help=(
        "Compare the whole plan with a variant in which a shop has more or less; once for each "
        "variant, changes of one joined by commas. WHAT is hours (a week), people or bays; WHEN "
        "a week like 2026-W47, a day, or DAY..DAY; or closed=DAY..DAY@DEPOT. "
        "Like people=+1@NORTH,bays=+1@NORTH or closed=2026-11-26@NORTH."
    ),
)
@click.option("--json", "as_json", is_flag=True, help="Print for programs.")
@click.pass_obj
def plan(asked: Asked, weeks: int, variants: tuple[str, ...], *, as_json: bool) -> None:
    """Show which vehicle is off the road on which day, and what did not fit.

    With --with it shows what more or less hours, people, bays or days would change; nothing of
    that is kept.
    """
    if variants:
        _compare(asked, variants, as_json=as_json)
        return
    from reports.as_json import plan_json
    from reports.plan_screen import plan_screen

    outlook = asked.outlook()
    if as_json:
        print_json(plan_json(outlook, weeks))
    else:
        say(plan_screen(outlook, weeks))


def _compare(asked: Asked, variants: tuple[str, ...], *, as_json: bool) -> None:
    from fleetcool.actions.compare import compare
    from fleetcool.visits.changes import read_variant
    from reports.compare_screen import compare_json, compare_screen

    read = [(one, read_variant(one)) for one in variants]
    home = asked.home()
    with opened(home) as store, progress("Comparing plans"):
        found = compare(store, home.settings, asked.moment(home).as_of, read)
    if as_json:
        print_json(compare_json(found))
    else:
        say(compare_screen(found, home.settings))
