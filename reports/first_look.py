"""A screenful that tells each reader which book to open and what it says."""

from pathlib import Path

from fleetcool.model import days
from fleetcool.model.outlook import Outlook
from reports.words import counted, weekday


def first_look(outlook: Outlook, folder: Path) -> str:
    """Return the text shown after a week's books were made."""
    plan, supply = outlook.plan, outlook.supply
    start = days.monday(outlook.week)
    on = plan.visits["start_on"].astype(float)
    coming = plan.visits[(on >= start) & (on < start + 7)]
    hours = coming["minutes"].astype(float).sum() / 60
    rounds = plan.rounds[plan.rounds["on"].astype(float) < start + 7]
    shops = sorted(plan.weeks["depot"].unique())
    orders = supply.orders
    cost = orders["cost"].astype(float).sum() / 100
    lines = [
        (
            f"Books for {outlook.week}, which starts on {weekday(start)}, "
            f"as of {weekday(outlook.as_of)}, lie in {folder}"
        ),
        "",
        (
            f"Fleet manager: open manager.xlsx. {counted(len(coming), 'visit')} "
            f"with {hours:.1f} hours of work in the coming week; {len(plan.visits)} "
            f"are planned over {outlook.settings.horizon_weeks} "
            f"weeks; {len(plan.not_placed)} lines did not fit or wait for a baseline."
        ),
        (
            f"Mechanic: open your depot's book ({', '.join(shops)}): days, parts to pull, one job "
            f"sheet a visit, and a yard round of {len(rounds)} units."
        ),
        (
            f"Buyer: open buyer.xlsx. {len(orders)} order lines for {cost:,.2f} "
            f"{outlook.settings.currency} are to be placed within two weeks."
        ),
        "Dispatch: pin up the sheet Bring in; the .ics files go into a calendar.",
        "",
        (
            f"Commands started in {folder.parent.parent} use this fleet and take "
            f"{weekday(outlook.as_of)} as today. Try: fleetcool due --weeks 4"
        ),
    ]
    return "\n".join(lines)
