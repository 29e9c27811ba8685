"""The buyer's sheets of what lies there: slow parts with what needs them, coolant, stock."""

import pandas as pd

from reports.sheets import Block, Cell, Heading, Past, Sheet
from reports.view import View, figure, rows_of, text
from reports.words import LEAST_SHOWN, listed, packs_text

_MOST_UNITS = 5  # named beside a slow part; Behind it names all
_SOONEST = [True, False, True, True]


def slow_parts_sheet(view: View) -> Sheet:
    """Return one line a slow part that is kept or expected, the soonest first."""
    parts = view.outlook.supply.parts
    slow = parts["slow"].astype(bool) & ~parts["is_coolant"].astype(bool)
    likely = parts["expected"].astype("float64") >= LEAST_SHOWN
    kept = (parts["on_hand"].astype("float64") > 0) | (parts["keep_at_least"].astype("float64") > 0)
    headings = (
        Heading("part", width=12),
        Heading("what", width=27),
        Heading("depot", width=16),
        Heading("expected in 26 weeks", "number", 11),
        Heading("first likely week", width=11),
        Heading("have", "number", 9),
        Heading("on order", "number", 9),
        Heading("keep at least", "number", 9),
        Heading("counted in", width=12.5),
        Heading("why", width=45),
    )
    chosen = parts[slow & (likely | kept)]
    chosen = chosen.assign(_likely=likely, _week=chosen["first_week"].fillna("").astype(str))
    chosen["_week"] = chosen["_week"].where(chosen["_week"] != "", "none")  # after every year
    chosen = chosen.sort_values(["_week", "_likely", "part", "depot"], ascending=_SOONEST)
    behind = _needed_by(view)
    rows = tuple(_slow_row(view, one, behind) for one in rows_of(chosen))
    n_likely = int(chosen["_likely"].sum())
    said = "The first likely week is the one by which one is more likely needed than not."
    if n_likely < len(rows):
        said += " Parts without a need in sight stand at the end; they are not printed."
    block = Block(
        "slow_parts", headings, rows, "No slow part is kept or expected.", printed=n_likely
    )
    return Sheet(
        "Slow parts",
        (block,),
        title="Slow parts: those that move less than monthly",
        sentences=(said,),
    )


def _slow_row(
    view: View, one: dict[str, object], behind: dict[tuple[str, str], str]
) -> tuple[Cell, ...]:
    expected = figure(one["expected"])
    why = text(one["note"]) or behind.get((text(one["part"]), text(one["depot"])), "")
    return (
        text(one["part"]),
        text(one["what"]),
        view.depot_name(text(one["depot"])),
        expected,
        text(one["first_week"]) or ("none likely" if expected >= LEAST_SHOWN else "none"),
        figure(one["on_hand"]),
        figure(one["on_order"]),
        figure(one["keep_at_least"]),
        text(one["counted_in"]),
        why,
    )


def _needed_by(view: View) -> dict[tuple[str, str], str]:
    """Return (part, depot) → for which units and services it is needed, the first ones."""
    behind = view.outlook.supply.behind.sort_values(["week", "unit", "service"])
    found: dict[tuple[str, str], dict[str, dict[str, None]]] = {}
    for one in rows_of(behind[behind["unit"].fillna("").astype(str) != ""]):
        services = found.setdefault((text(one["part"]), text(one["depot"])), {})
        services.setdefault(text(one["service"]), {}).setdefault(text(one["unit"]))
    return {
        key: "; ".join(f"{service}: {_units(list(units))}" for service, units in services.items())
        for key, services in found.items()
    }


def _units(units: list[str]) -> str:
    if len(units) > _MOST_UNITS:
        return f"unit {', '.join(units[:_MOST_UNITS])} and {len(units) - _MOST_UNITS} more"
    return f"unit {listed(units)}"


def coolant_sheet(view: View) -> Sheet:
    """Return one line a coolant and depot, those that are needed or ordered first."""
    parts = view.outlook.supply.parts
    coolant = parts[parts["is_coolant"].astype(bool)]
    orders = view.outlook.supply.orders
    ordered = pd.MultiIndex.from_frame(orders[["part", "depot"]].astype(str))
    wanted = (
        (coolant["expected"].astype("float64") >= LEAST_SHOWN)
        | (coolant["on_order"].astype("float64") > 0)
        | pd.MultiIndex.from_frame(coolant[["part", "depot"]].astype(str)).isin(ordered)
    )
    coolant = coolant.assign(_idle=~wanted).sort_values(["_idle", "part", "depot"])
    n_wanted = int(wanted.sum())
    planned = {
        (text(one["part"]), text(one["depot"])): one
        for one in rows_of(orders.sort_values(["part", "depot", "order_by"], ascending=False))
    }
    headings = (
        Heading("coolant", width=11),
        Heading("what", width=25),
        Heading("depot", width=14),
        Heading("litres there", "number", 10),
        Heading("counted on", "day", 12),
        Heading("litres on order", "number", 10),
        Heading("litres in 26 weeks", "number", 10),
        Heading("runs out on", "day", 12),
        Heading("litres to order", "number", 10),
        Heading("containers", width=12.5),
        Heading("order by", "day", 12),
        Heading("note", width=27),
    )
    rows = []
    for one in rows_of(coolant):
        line = planned.get((text(one["part"]), text(one["depot"])))
        rows.append(
            (
                text(one["part"]),
                text(one["what"]),
                view.depot_name(text(one["depot"])),
                figure(one["on_hand"]),
                figure(one["counted_on"]),
                figure(one["on_order"]),
                figure(one["expected"]),
                figure(one["runs_out_on"]),
                figure(line["quantity"]) if line else None,
                packs_text(line["packs"], line["pack"]) if line else "",
                figure(line["order_by"]) if line else None,
                text(one["note"]),
            )
        )
    return Sheet(
        "Coolant",
        (
            Block(
                "coolant",
                headings,
                tuple(rows),
                "No coolant is needed or kept.",
                printed=n_wanted,
            ),
        ),
        title="Coolant: litres and containers",
        sentences=(
            (
                "Litres are those of the product as it is bought: a concentrate is thinned before "
                "it is filled, a premix is not. What is neither needed nor ordered stands at the "
                "end and is not printed."
            ),
        ),
    )


def stock_sheet(view: View) -> Sheet:
    """Return what is on its way, and what lies there, the first to run out first."""
    parts, coming = view.outlook.supply.parts, view.outlook.supply.coming
    as_of = view.outlook.as_of
    lying = parts[(parts["on_hand"].astype("float64") > 0) | ~parts["runs_out_on"].isna()]
    lying = lying.assign(_out=lying["runs_out_on"].astype("float64").fillna(float("inf")))
    rows = tuple(_stock_row(view, one, as_of) for one in rows_of(_first_out(lying)))
    arriving = tuple(_coming_row(view, one) for one in rows_of(_by_promise(coming)))
    n_out = int((~lying["runs_out_on"].isna()).sum())
    said = ["Runs out on is the day on which planned and expected work has used it up."]
    if n_out < len(rows):
        said.append("What does not run out within the plan stands at the end and is not printed.")
    return Sheet(
        "Stock",
        (
            Block("stock_coming", _COMING, arriving, "No order is on its way.", title="On its way"),
            Block(
                "stock_there",
                _THERE,
                rows,
                "No stock is counted.",
                title="There, the first to run out first",
                printed=n_out,
            ),
        ),
        title="Stock",
        sentences=(" ".join(said),),
    )


_COMING = (
    Heading("part", width=12),
    Heading("what", width=28),
    Heading("depot", width=16),
    Heading("order", width=12),
    Heading("quantity", "number", 11),
    Heading("supplier", width=16),
    Heading("promised on", "day", 13),
    Heading("or late", width=10),
)
_THERE = (
    Heading("part", width=12),
    Heading("what", width=28),
    Heading("depot", width=16),
    Heading("bin", width=12),
    Heading("there", "number", 11),
    Heading("counted in", width=16),
    Heading("counted on", "day", 13),
    Heading("on order", "number", 10),
    Heading("runs out on", "day", 13),
)


def _first_out(lying: pd.DataFrame) -> pd.DataFrame:
    return lying.sort_values(["_out", "part", "depot"])


def _stock_row(view: View, one: dict[str, object], as_of: int) -> tuple[Cell, ...]:
    return (
        text(one["part"]),
        text(one["what"]),
        view.depot_name(text(one["depot"])),
        text(one["bin"]),
        figure(one["on_hand"]),
        text(one["counted_in"]),
        figure(one["counted_on"]),
        figure(one["on_order"]),
        _past(figure(one["runs_out_on"]), as_of),
    )


def _past(on: float, as_of: int) -> Cell:
    return Past(on) if on < as_of else on


def _by_promise(coming: pd.DataFrame) -> pd.DataFrame:
    return coming.sort_values(["promised_on", "order", "part"])


def _coming_row(view: View, one: dict[str, object]) -> tuple[Cell, ...]:
    late = text(one["late"]) not in {"", "False", "0", "0.0"}
    promised = figure(one["promised_on"])
    return (
        text(one["part"]),
        text(one["what"]),
        view.depot_name(text(one["depot"])),
        text(one["order"]),
        figure(one["quantity"]),
        text(one["supplier"]),
        Past(promised) if late else promised,
        Past("late") if late else "",
    )
