"""The job sheet: one printed page for the mechanic who has this vehicle in the bay."""

import math

from fleetcool.model.computed import BASELINE
from fleetcool.model.knowledge import names
from fleetcool.units import torque_text
from reports.sheets import Line, Pages, Piece
from reports.steps import is_taken_apart, only_put_back, put_back_order, steps_in_order
from reports.view import View, figure, rows_of, text
from reports.words import amount, clock, counted, hours, listed, on_day, volume, weekday

TICK = "☐"
_NEEDED = 3
# When the shipped cautions do not name three that belong. Common practice, no source.
_ALWAYS = (
    "Never open a hot cooling system: steam and coolant scald. Let it cool until hand-warm.",
    "Keep hands, hair and sleeves away from fan and belts; a fan can start with the engine off.",
    "Coolant is poisonous and tastes sweet to animals: catch it, cover it, hand it in.",
)


def job_sheets(view: View, depot: str) -> Pages:
    """Return the job sheets of one shop for the week, one page a visit."""
    lines: list[Line] = []
    for visit in rows_of(view.week_visits(depot)):
        page = _page(view, visit)
        lines += [*page[:-1], Line(page[-1].pieces, ends_page=True)]
    return Pages("Job sheets", tuple(lines), "No visit is planned in this week.")


def _page(view: View, visit: dict[str, object]) -> list[Line]:
    layout = view.vehicle_text(text(visit["vehicle"]), "layout")
    services = view.services.get(text(visit["visit"]), ())
    steps = steps_in_order(view.outlook.knowledge, layout, services)
    return [
        *_head(view, visit, layout, services),
        *_cautions(view, services, [text(one["step"]) for one in steps]),
        *_pull(view, visit),
        _first(view, services),
        *_apart_and_back(steps, services),
        *_fasteners(view, layout, services, steps),
        *_coolant(view, visit, services, told=any(only_put_back(one) for one in steps)),
        *_while_open(view, visit),
        *_tag(view, visit, services),
    ]


def _first(view: View, services: tuple[str, ...]) -> Line:
    """Return what is looked at first; a dry visit puts no pressure on the system."""
    if _is_wet(view, services) or {"pressure test", BASELINE} & set(services):
        said = (
            f"{TICK} First: pressure test, before anything is taken apart. Held ____ kPa for "
            "____ minutes; leaks found: ____________"
        )
    else:
        said = f"{TICK} First: look for leaks before anything is taken apart. Found: ____________"
    return _one(said, "bold")


def _is_wet(view: View, services: tuple[str, ...]) -> bool:
    frame = view.outlook.knowledge.services
    wet = frame[frame["wet"].astype("float64") > 0]["service"].astype(str)
    return bool(set(wet) & set(services))


def _one(words: str, style: str = "plain") -> Line:
    return Line((Piece(words, 12, style),))  # type: ignore[arg-type] # literals only


def _head(
    view: View, visit: dict[str, object], layout: str, services: tuple[str, ...]
) -> list[Line]:
    vehicle = text(visit["vehicle"])
    facts = [
        f"plate {view.vehicle_text(vehicle, 'plate') or '________'}",
        f"VIN ends {view.vehicle_text(vehicle, 'vin')[-8:] or '________'}",
        f"stands in {view.depot_name(text(visit['yard']))}",
        " ".join(
            one
            for one in (
                view.vehicle_text(vehicle, "year").removesuffix(".0"),
                view.vehicle_text(vehicle, "make"),
                view.vehicle_text(vehicle, "model"),
            )
            if one
        ),
        f"layout {layout or 'not known'}",
    ]
    starts = f"{weekday(figure(visit['start_on']))} {clock(figure(visit['start_minute']))}".strip()
    where = f"bay {text(visit['bay'])}" if text(visit["bay"]) else "any bay"
    when = f"{starts}, {where}, {hours(figure(visit['minutes']))} of work"
    if figure(visit["wait_minutes"]) > 0:
        when += f" and {hours(figure(visit['wait_minutes']))} of waiting"
    lines = [
        Line(
            (
                Piece(f"Unit {text(visit['unit'])}", 5, "title"),
                Piece(f"{text(visit['visit'])}\n{when}", 7, "bold"),
            )
        ),
        _one("; ".join(one for one in facts if one)),
        _one(f"Do: {', '.join(services) or 'see the plan'}", "big"),
        _one(f"Why: {text(visit['why']) or 'planned'}"),
    ]
    if text(visit["rides_along"]):
        lines.append(_one(f"Rides along with: {text(visit['rides_along'])}", "bold"))
    return lines + [_one(one) for one in _notes(view, vehicle)]


def _notes(view: View, vehicle: str) -> list[str]:
    """Return the last two notes on this vehicle from its work done."""
    history = view.outlook.standing["history"]
    if "note" not in history or "vehicle" not in history:
        return []
    mine = history[(history["vehicle"] == vehicle) & (history["note"].fillna("") != "")]
    last = rows_of(mine.sort_values(["on", "service"]).tail(2))
    return [f"Noted {on_day(figure(one['on']))}: {text(one['note'])[:200]}" for one in last]


def _cautions(view: View, services: tuple[str, ...], steps: list[str]) -> list[Line]:
    found: list[tuple[int, int, str]] = []
    for one in rows_of(view.outlook.knowledge.cautions):
        by_step = set(names(one["steps"])) & set(steps)
        by_service = set(names(one["services"])) & set(services)
        if by_step or by_service:
            found.append((-len(by_service) - len(by_step), len(found), text(one["text"])))
    # The first that fits in the shipped order is the burn; the others by how much they fit.
    ordered = found[:1] + sorted(found[1:])
    said = [words for _, _, words in ordered][:_NEEDED]
    said += [words for words in _ALWAYS if words not in said][: _NEEDED - len(said)]
    return [
        _one("Cautions. The maker's manual and local rules come first.", "section"),
        *(_one(f"! {words}", "caution") for words in said),
    ]


def _pull(view: View, visit: dict[str, object]) -> list[Line]:
    pull = view.outlook.supply.pull
    mine = rows_of(pull[pull["visit"] == visit["visit"]].sort_values(["part"]))
    if not mine:
        return [_one("Pull: nothing from the shelf.", "section")]
    lines = [_one("Pull", "section")]
    for one in mine:
        short = "" if _is_here(one["here"]) else "  SHORT"
        tail = f" – {text(one['note'])}" if text(one["note"]) else ""
        lines.append(
            Line(
                (
                    Piece(f"{TICK} {amount(figure(one['quantity']))} {text(one['counted_in'])}", 2),
                    Piece(f"{text(one['what'])}, {text(one['part'])}{tail}", 7),
                    Piece(
                        f"bin {text(one['bin']) or '____'}{short}", 3, "bold" if short else "plain"
                    ),
                )
            )
        )
    return lines


def _is_here(value: object) -> bool:
    return text(value) not in {"", "False", "0", "0.0", "short"}


def _apart_and_back(steps: list[dict[str, object]], services: tuple[str, ...]) -> list[Line]:
    """Return take apart and put back side by side, and what is done between them."""
    apart = [f"{TICK} {_said(one)}" for one in steps if is_taken_apart(one)]
    number = {text(one["step"]): at for at, one in enumerate(filter(is_taken_apart, steps), 1)}
    back = [f"{TICK} {_put_back(one, number)}" for one in put_back_order(steps)]
    lines = [
        Line(
            (
                Piece("Take apart, in this order", 6, "section"),
                Piece("Put back, in this order", 6, "section"),
            )
        )
    ]
    for at in range(max(len(apart), len(back), 1)):
        left = f"{at + 1}. {apart[at]}" if at < len(apart) else ""
        right = f"{at + 1}. {back[at]}" if at < len(back) else ""
        if not apart and not back:
            left = "Nothing needs to be taken off."
        lines.append(Line((Piece(left, 6), Piece(right, 6))))
    lines.append(_one("Do, while it is open", "section"))
    done = [f"{TICK} {one}" for one in services]
    lines += [
        Line(tuple(Piece(one, 4, "bold") for one in done[at : at + 3]))
        for at in range(0, len(done), 3)
    ]
    return lines


def _said(step: dict[str, object]) -> str:
    words = text(step["text"]) or text(step["step"])
    wait = figure(step["wait_minutes"])
    tail = f" (wait {wait:.0f} min)" if wait > 0 else ""
    people = figure(step["people"])
    return words + tail + (f" ({people:.0f} people)" if people > 1 else "")


def _put_back(step: dict[str, object], number: dict[str, int]) -> str:
    name = text(step["step"])
    if name not in number:
        return _said(step)
    return f"Undo step {number[name]} ({name})"


def _fasteners(
    view: View, layout: str, services: tuple[str, ...], steps: list[dict[str, object]]
) -> list[Line]:
    frame = view.outlook.knowledge.fasteners
    step_names = {text(one["step"]) for one in steps}
    mine = [
        one
        for one in rows_of(frame[frame["layout"] == layout])
        if text(one["step"]) in step_names or text(one["service"]) in services
    ]
    if not mine:
        return []
    lines = [_one("Fasteners: tighten to the maker's manual; the guard is never passed", "section")]
    return lines + [_fastener(one) for one in mine]


def _fastener(one: dict[str, object]) -> Line:
    count, head = figure(one["count"]), figure(one["head_mm"])
    what = " ".join(
        part
        for part in (
            f"{count:.0f} ×" if count > 0 else "",
            text(one["what"]),
            text(one["thread"]),
            f"head {amount(head)} mm" if head > 0 else "",
        )
        if part
    )
    manual, guard = figure(one["manual_torque_nm"]), figure(one["guard_nm"])
    said = "manual: ____" if math.isnan(manual) else f"manual: {torque_text(manual)}"
    guarded = "" if math.isnan(guard) else f"guard {torque_text(guard)}"
    trap = text(one["trap"])
    return Line(
        (
            Piece(f"{TICK} {what}" + (f". {trap}" if trap else ""), 6),
            Piece(said, 3, "bold"),
            Piece(guarded, 3, "small"),
        )
    )


def _coolant(
    view: View, visit: dict[str, object], services: tuple[str, ...], *, told: bool
) -> list[Line]:
    """Return what to fill and record; how to fill is `told` already when a step says it."""
    if not _is_wet(view, services):
        return []
    vehicle = text(visit["vehicle"])
    coolant = view.outlook.projection.coolant
    mine = rows_of(coolant[coolant["vehicle"] == vehicle])
    kind = text(mine[0]["kind"]) if mine else view.vehicle_text(vehicle, "coolant")
    litres = figure(mine[0]["litres"]) if mine else math.nan
    holds = volume(litres, view.outlook.settings)
    how = (
        f"{TICK} Fill slowly, heater on hot, bleed until no more air comes, warm up until the "
        "thermostat opens, let it cool, top up."
    )
    return [
        _one("Fill, bleed and test", "section"),
        _one(
            f"{TICK} Coolant: {kind or '____________'}; the system holds {holds or '____ L'}; "
            "aim at half coolant, half clean water unless the manual says otherwise. "
            f"{_planned_coolant(view, visit)}Put in: ____ L of ________________"
        ),
        *([] if told else [_one(how)]),
        _one(
            f"{TICK} Record: freezes at ____ °C   cap holds ____ kPa   level after cooling ____   "
            "leaks: none / at ____________"
        ),
    ]


def _planned_coolant(view: View, visit: dict[str, object]) -> str:
    """Return the coolant on the pull list of this visit as a sentence, empty without any."""
    parts, pull = view.outlook.supply.parts, view.outlook.supply.pull
    coolants = set(parts[parts["is_coolant"].astype(bool)]["part"].astype(str))
    mine = pull[(pull["visit"] == visit["visit"]) & pull["part"].isin(coolants)]
    said = [
        f"{amount(figure(one['quantity']))} {text(one['counted_in'])} of {text(one['part'])}"
        for one in rows_of(mine.sort_values("part"))
    ]
    return f"Planned: {listed(said)}. " if said else ""


def _while_open(view: View, visit: dict[str, object]) -> list[Line]:
    frame = view.outlook.plan.while_open
    mine = rows_of(frame[frame["visit"] == visit["visit"]].sort_values(["service"]))
    if not mine:
        return []
    clocks = view.outlook.projection.clocks
    unknown = set(
        clocks[(clocks["vehicle"] == visit["vehicle"]) & clocks["never_recorded"].astype(bool)][
            "service"
        ].astype(str)
    )
    lines = [_one("Worth doing while it is open – look, then decide", "section")]
    for one in mine:
        service = text(one["service"])
        due = "never recorded" if service in unknown else f"due {on_day(figure(one['due']))}"
        extra = counted(int(figure(one["extra_minutes"]) or 0), "minute")
        short = "" if _is_here(one["parts_here"]) else "; parts are not here"
        lines.append(_one(f"{TICK} {service}: {extra} more, {due}{short}"))
    return lines


def _tag(view: View, visit: dict[str, object], services: tuple[str, ...]) -> list[Line]:
    """Return the line for who and when, and after wet work the tag for the filler neck."""
    done = _one(
        "Done on ____________  odometer ____________  hours ________  minutes ______  by ______"
    )
    if not _is_wet(view, services):
        return [done]
    vehicle = text(visit["vehicle"])
    coolant = view.outlook.projection.coolant
    mine = rows_of(coolant[coolant["vehicle"] == vehicle])
    kind = text(mine[0]["kind"]) if mine else ""
    return [
        done,
        _one("Cut out and hang on the filler neck", "small"),
        _one(
            f"UNIT {text(visit['unit'])}   coolant: {kind or '____________'}\n"
            "Filled on ____________   freezes at ____ °C   by ______\n"
            "Top up with the same kind only. Open cold only.",
            "boxed",
        ),
    ]
