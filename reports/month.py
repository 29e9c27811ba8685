"""The sheet Month: how the last months went, and what the next fifteen will take."""

import math

from fleetcool.model.days import MONTHS
from fleetcool.supply.alone import cheapest
from fleetcool.supply.by_month import N_MONTHS, TOTAL
from fleetcool.units import LITRES_PER_US_GALLON
from reports.sheets import Block, Cell, Heading, Lines, Sheet
from reports.vehicle_words import Row
from reports.view import View, figure, rows_of, text
from reports.words import counted, first_upper

_HOW_MEASURED = (
    "A visit is promised by the first week in whose books it stands, and on time when it is done "
    "by the Sunday of that week; days late count from the last day it was promised for. Work that "
    "warranty or a recall paid for counts too. Came back means that a place the visit had worked "
    "on was changed or marked R again within 30 days, so a month is settled 30 days after its end."
)
_HOW_BUDGETED = (
    "Visits and yard rounds of the plan count in their month; what is due beyond it counts by the "
    "probability of each month, and a part at risk by its chance to fail. Low and high hold four "
    "times of five while nothing shifts the whole fleet at once, such as prices or all driving "
    "more. A failure's tow and time off the road are not in it."
)
_CAME_BACK = "came back for the same place within 30 days"


def month_sheet(view: View) -> Sheet:
    """Return the last months, and the months to come with their money as a chart."""
    said = (*_looking_back(view), *_looking_ahead(view))
    return Sheet(
        "Month",
        (_months(view), _budget(view)),
        title="Month: how work went, and what is to come",
        sentences=said,
    )


def _months(view: View) -> Block:
    headings = (
        Heading("month", width=16),
        Heading("visits done", "whole", 9),
        Heading("promised for a week", "whole", 12),
        Heading("of those on time", "whole", 9),
        Heading("days late, mean of the others", "number", 11),
        Heading("failed on the road", "whole", 10, note="Parts that failed on the road."),
        Heading("found in the shop", "whole", 10, note="Parts found bad in the shop or yard."),
        Heading("came back within 30 days", "whole", 11),
        Heading("clocks never recorded", "whole", 11, note="At the month's last issue, or now."),
    )
    columns = (
        *("visits_done", "promised", "on_time", "days_late", "road_failures", "shop_finds"),
        *("back_within_30", "never_recorded"),
    )
    rows: tuple[tuple[Cell, ...], ...] = tuple(
        (month_text(text(one["month"])), *(figure(one[name]) for name in columns))
        for one in rows_of(view.outlook.back.months)
    )
    return Block("months_done", headings, rows, "No month was looked at.", title="The last months")


def _budget(view: View) -> Block:
    settings, budget = view.outlook.settings, view.outlook.back.budget
    us = settings.units == "us"
    kinds: tuple[str, ...] = ("labour", "parts", "coolant")
    if budget["outside"].astype("float64").gt(0).any():
        kinds += ("outside",)
    headings = (
        Heading("month to come", width=16),
        Heading("hours of work", "number", 9),
        Heading("hours, low", "number", 12),
        Heading("hours, high", "number", 9),
        Heading("coolant, US gal" if us else "coolant, L", "number", 11),
        *(Heading(_MONEY_WORDS[one], "whole", 10) for one in kinds),
        Heading("in all", "whole", 10),
        Heading("low", "whole", 10),
        Heading("high", "whole", 10),
        Heading("of the hours in the plan", "percent", 9),
    )
    in_all = 5 + len(kinds)
    drawn = Lines(
        "Money by month",
        0,
        (in_all, in_all + 1, in_all + 2),
        0,
        N_MONTHS - 1,
        f"{settings.currency} a month",
    )
    rows = tuple(_budget_row(one, kinds, us=us) for one in rows_of(budget))
    return Block(
        "months_to_come",
        headings,
        rows,
        "Nothing is foreseen.",
        title=f"The next fifteen months, money in {settings.currency}",
        charts=(drawn,),
        starts_page=True,
    )


_MONEY_WORDS = {
    "labour": "labour",
    "parts": "parts",
    "coolant": "coolant",
    "outside": "other shops",
}


def _budget_row(one: Row, kinds: tuple[str, ...], *, us: bool) -> tuple[Cell, ...]:
    cents = (*kinds, "money", "money_low", "money_high")
    return (
        _short_month(text(one["month"])),
        *(figure(one[name]) for name in ("hours", "hours_low", "hours_high")),
        figure(one["litres"]) / (LITRES_PER_US_GALLON if us else 1.0),
        *(round(figure(one[name]) / 100) for name in cents),
        100 * figure(one["from_plan"]),
    )


def _looking_back(view: View) -> tuple[str, ...]:
    months = rows_of(view.outlook.back.months)
    if not months:
        return ()
    full = [one for one in months[:-1] if not math.isnan(figure(one["visits_done"]))]
    said = [_month_sentence(full[-1])] if full else ["No whole month is on record yet."]
    if all(math.isnan(figure(one["promised"])) for one in months):
        said.append(
            "What was promised is known from the first issue on, so those columns are still empty."
        )
    return (" ".join([*said, _unknown_sentence(months)]), _HOW_MEASURED)


def _month_sentence(one: Row) -> str:
    """Return how one month went: `In October 2026 9 of 11 visits were done …`."""
    done, promised, on_time = (figure(one[name]) for name in ("visits_done", "promised", "on_time"))
    month = month_text(text(one["month"]))
    if promised > 0:
        late = figure(one["days_late"])
        others = "" if math.isnan(late) else f", the others {late:.1f} days late on average"
        rest = round(done - promised)
        beside = f"; {counted(rest, 'more visit')} had not been promised for one" if rest else ""
        said = (
            f"In {month} {on_time:.0f} of {counted(round(promised), 'visit')} "
            f"{'was' if promised == 1 else 'were'} done in the week they were promised for or "
            f"before{others}{beside}"
        )
    else:
        said = f"In {month} {counted(round(done), 'visit')} {_was(done)} done"
    road, shop, back = (
        figure(one[name]) for name in ("road_failures", "shop_finds", "back_within_30")
    )
    again = f"; after {counted(round(back), 'visit')} the vehicle {_CAME_BACK}" if back > 0 else ""
    return (
        f"{said}; {counted(round(road), 'part')} failed on the road, {round(shop) or 'none'} "
        f"{_was(shop)} found in the shop{again}."
    )


def _unknown_sentence(months: list[dict[str, object]]) -> str:
    """Return how many clocks are unknown now, and how many there were before."""
    now = figure(months[-1]["never_recorded"])
    before = [one for one in months[:-1] if not math.isnan(figure(one["never_recorded"]))]
    said = f"Of {counted(round(now), 'clock')} the last time is unknown now"
    if not before:
        return f"{said}."
    was = figure(before[0]["never_recorded"])
    return f"{said}; in {month_text(text(before[0]['month']))} it was {was:,.0f}."


def _looking_ahead(view: View) -> tuple[str, ...]:
    settings = view.outlook.settings
    total = [one for one in rows_of(view.outlook.back.budget) if one["month"] == TOTAL]
    if not total:
        return ()
    one = total[0]
    cost, low, high = (
        f"{settings.currency} {figure(one[f'money{tail}']) / 100:,.0f}"
        for tail in ("", "_low", "_high")
    )
    hours, least, most = (figure(one[f"hours{tail}"]) for tail in ("", "_low", "_high"))
    said = (
        f"The next twelve months take {cost} ({low} to {high}) and {hours:,.0f} hours of work "
        f"({least:,.0f} to {most:,.0f})."
    )
    return (" ".join([said, *_left_out(view)]), _HOW_BUDGETED)


def _left_out(view: View) -> list[str]:
    """Return what the budget cannot count: unknown clocks, and parts without a price."""
    outlook = view.outlook
    unknown = int(outlook.projection.due["open_clock"].astype(bool).sum())
    needed = set(outlook.supply.needs["part"].astype(str))
    bare = sorted(needed - set(cheapest(outlook.standing).index.astype(str)))
    said = []
    if unknown:
        said.append(
            f"{first_upper(counted(unknown, 'service'))} whose clock a cooling baseline must set "
            f"first {'is' if unknown == 1 else 'are'} not in it."
        )
    if bare:
        some = ", ".join(bare[:3]) + (" …" if len(bare) > 3 else "")
        said.append(f"{counted(len(bare), 'part')} without a price cost nothing here: {some}.")
    return said


def month_text(month: str) -> str:
    """Return a month as `October 2026`."""
    return f"{MONTHS[int(month[5:]) - 1]} {month[:4]}"


def _short_month(month: str) -> str:
    if month == TOTAL:
        return "first 12 months"
    return f"{MONTHS[int(month[5:]) - 1][:3]} {month[:4]}"


def _was(number: float) -> str:
    return "was" if number == 1 else "were"
