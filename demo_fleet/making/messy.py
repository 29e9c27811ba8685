"""The messy tables: the faults that people really type, each listed with what mends it.

They speak of the vehicles of the good tables and are taken after them.
"""

import csv
import io
from dataclasses import dataclass

LEAVE_OUT = "leave out"
WRONG_VIN = "2Z9WCXB40TL000157"


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a messy file: its cells, and what is planted in it, if anything.

    `column` is the heading as written, `mend` the cell text that mends it or "leave out".
    """

    cells: tuple[str, ...]
    kind: str = ""
    column: str = ""
    mend: str = ""


def good(*cells: str) -> Line:
    """Return a line without a fault."""
    return Line(cells)


@dataclass(frozen=True, slots=True)
class Planted:
    """Gathers the cells and then the fault, so that a line of the list below reads in order."""

    cells: tuple[str, ...]

    def fault(self, kind: str, column: str, mend: str) -> Line:
        """Return the line with its fault."""
        return Line(self.cells, kind, column, mend)


def bad(*cells: str) -> Planted:
    """Return the cells of a line that has a fault."""
    return Planted(cells)


_FILES: dict[str, tuple[Line, ...]] = {
    "readings.csv": (
        good("Unit #", "Date", "Odo (km)", "Engine hours", "Source"),
        good("102", "2026-11-03", "{102}", "", "shop"),
        bad("999", "2026-11-03", "48210", "", "driver").fault("unknown unit", "Unit #", LEAVE_OUT),
        bad("104", "2026-02-30", "{104}", "", "").fault(
            "a day that does not exist", "Date", "2026-11-03"
        ),
        bad("105", "yesterday", "{105}", "", "").fault("a day in words", "Date", "2026-11-03"),
        bad("106", "2062-11-03", "{106}", "", "").fault("a day to come", "Date", "2026-11-03"),
        bad("107", "", "{107}", "", "").fault("required cell empty", "Date", "2026-11-03"),
        bad("109", "2026-11-03", "-120", "", "").fault("negative distance", "Odo (km)", "{109}"),
        good("110", "2026-11-03", "{110}", "", "driver"),
        bad("111", "2026-11-03", "about 48 thousand", "", "").fault(
            "words in a number", "Odo (km)", "{111}"
        ),
        bad("112", "2026-11-03", "4821000000000", "", "").fault(
            "impossible odometer", "Odo (km)", "{112}"
        ),
        bad("401", "2026-11-03", "{401}", "-35", "").fault("negative hours", "Engine hours", ""),
        bad("", "2026-11-03", "51200", "", "shop").fault(
            "required unit empty", "Unit #", LEAVE_OUT
        ),
        bad("115", "2026-11-03", "{115}", "", "shop\x07 slip").fault(
            "control character", "Source", "shop slip"
        ),
        bad("116", "2026-11-03", "={116}+1", "", "").fault(
            "formula in a number", "Odo (km)", "{116}"
        ),
        bad("121", "45,10,2026", "{121}", "", "").fault("no day at all", "Date", "2026-11-03"),
        good("122", "2026-11-03", "{122}", "", "fuel card"),
    ),
    "history.csv": (
        good("Unit", "Done on", "Service", "Place", "RO number", "Odometer", "Reason", "Coolant",
             "How", "Litres in", "Replaced share", "Minutes", "Cost", "Where", "Note"),
        good("129", "2026-10-30", "new drive belt", "", "M-01", "", "found bad", "", "", "", "",
             "35", "", "own", "squealed"),
        bad("122", "2026-10-29", "WP R&R", "", "M-02", "", "", "", "", "", "", "150", "", "", "")
        .fault("unknown service word", "Service", "new pump"),
        bad("124", "2026-10-29", "new hoses", "left hose", "M-03", "", "", "", "", "", "", "40",
            "", "", "").fault("unknown place word", "Place", "upper hose"),
        bad("125", "2026-10-28", "new cap", "", "M-04", "", "because", "", "", "", "", "5", "",
            "", "").fault("unknown choice", "Reason", "planned"),
        bad("126", "2026-10-28", "coolant top-up", "", "M-05", "", "", "green stuff",
            "topped up", "1.0", "", "10", "", "", "")
        .fault("unknown coolant", "Coolant", "OAT eg"),
        bad("126", "2026-10-21", "coolant top-up", "", "M-06", "", "", "", "topped up",
            "1.5 gal", "", "10", "", "", "").fault("gallons without kind", "Litres in", "5.7"),
        bad("132", "2026-10-27", "coolant change", "", "M-07", "", "planned", "",
            "drained and filled", "6.0", "140", "55", "", "", "")
        .fault("more than 100 percent", "Replaced share", "86"),
        bad("133", "2026-10-27", "new thermostat", "", "M-08", "", "planned", "", "", "", "",
            "half an hour", "", "", "").fault("words in minutes", "Minutes", "30"),
        bad("133", "2026-10-20", "new cap", "", "M-09", "", "planned", "", "", "", "", "5",
            "12.3.4", "", "").fault("no amount of money", "Cost", "12.34"),
        good("134", "2026-10-26", "pressure test", "", "M-10", "", "planned", "", "", "", "",
             "20", "", "own", ""),
        good("135", "2026-10-26", "new cap", "", "M-11", "", "planned", "", "", "", "", "5", "",
             "own", ""),
        bad("135", "2026-10-26", "new cap", "", "M-11", "", "failed in the yard", "", "", "", "",
            "25", "", "own", "").fault("two rows that contradict", "Reason", LEAVE_OUT),
        bad("136", "2026-10-22", "new cap", "", "M-12", "", "planned", "", "", "", "", "5", "",
            "own", "x" * 40_000).fault("text far too long", "Note", "new seal"),
        bad("137", "2026-10-22", "coolant top-up", "", "M-13", "", "", "", "topped up", "-2.0",
            "", "10", "", "", "").fault("negative litres", "Litres in", "2.0"),
        bad("140", "2026-10-19", "", "", "M-14", "", "planned", "", "", "", "", "20", "", "own",
            "").fault("required service empty", "Service", "pressure test"),
        bad("140", "2026-10-19", "new cap", "", "M-15", "", "planned", "", "", "", "", "5", "",
            "somewhere", "").fault("unknown word for where", "Where", "own"),
        good("141", "2026-10-19", "pressure test", "", "M-16", "", "planned", "", "", "", "",
             "20", "", "own", ""),
    ),
    "vehicles.csv": (
        good("Unit", "Depot", "Layout", "Year", "VIN", "Joined on", "Distance unit", "Works",
             "Leaves on"),
        good("151", "NORTH", "petrol four drive belt", "2026", "", "2026-10-26", "km",
             "Mon-Fri 06-18", ""),
        bad("152", "NORHT", "petrol four drive belt", "2026", "", "2026-10-26", "km", "", "")
        .fault("unknown depot", "Depot", "NORTH"),
        bad("153", "NORTH", "petrol five", "2026", "", "2026-10-26", "km", "", "")
        .fault("unknown layout", "Layout", "petrol four drive belt"),
        bad("154", "MILL", "petrol four drive belt", "2026", "", "2026-10-26", "km", "",
            "2025-10-26").fault("leaves before it joined", "Leaves on", "2031-10-26"),
        bad("155", "MILL", "petrol four drive belt", "2026", "", "2026-10-26", "km",
            "Mon-Fry 05-19", "").fault("no pattern of work", "Works", "Mon-Fri 05-19"),
        bad("156", "MILL", "petrol four drive belt", "20x6", "", "2026-10-26", "km", "", "")
        .fault("no whole number", "Year", "2026"),
        bad("157", "MILL", "petrol four drive belt", "2026", WRONG_VIN, "2026-10-26",
            "km", "", "").fault("warning", "VIN", "{vin}"),
        bad("158", "MILL", "petrol four drive belt", "2026", "", "2026-10-26", "leagues", "", "")
        .fault("unknown unit of distance", "Distance unit", "km"),
    ),
    "crew.csv": (
        good("Depot", "Who", "Mon", "Tue", "Start", "Stop"),
        good("PRAIRIE", "ZA", "4", "4", "07:00", "15:30"),
        bad("PRAIRIE", "ZB", "4", "4", "25:10", "15:30").fault("no time of day", "Start", "07:00"),
        bad("PRAIRIE", "ZC", "4", "four", "07:00", "15:30").fault("words in hours", "Tue", "4"),
    ),
    "other_stays.csv": (
        good("Unit", "Start", "Stop", "Why", "Can share", "Free minutes"),
        good("142", "2026-11-24T07:30", "2026-11-24T12:00", "oil service", "yes", "150"),
        bad("143", "2026-11-24T07:30", "2026-11-23T12:00", "oil service", "yes", "150")
        .fault("stop before start", "Stop", "2026-11-24T12:00"),
        bad("128", "2026-11-25T07:30", "2026-11-25T12:00", "oil service", "perhaps", "150")
        .fault("neither yes nor no", "Can share", "yes"),
        bad("130", "2026-11-25T24:75", "2026-11-26T12:00", "oil service", "yes", "150")
        .fault("no moment", "Start", "2026-11-25T07:30"),
        bad("127", "2026-11-26T07:30", "2026-11-26T12:00", "oil service", "yes", "-30")
        .fault("negative minutes", "Free minutes", "30"),
    ),
    "receipts.csv": (
        good("Part", "On", "Quantity", "Order", "Depot", "How"),
        good("TH-1201", "2026-10-27", "2", "26-377", "NORTH", "right"),
        bad("TH-1201", "2026-10-28", "-2", "26-378", "NORTH", "right")
        .fault("negative quantity", "Quantity", "2"),
        bad("TH-1201", "2026-10-29", "", "26-379", "NORTH", "right")
        .fault("required quantity empty", "Quantity", "2"),
        bad("CP-1201", "2026-10-29", "2", "26-380", "NORTH", "crushed")
        .fault("unknown word for how it came", "How", "damaged"),
    ),
    "coolant_tests.csv": (
        good("Unit", "On", "With", "Freeze (°C)", "Glycol %", "pH"),
        good("144", "2026-10-26", "refractometer", "-36", "50", ""),
        bad("202", "2026-10-26", "tongue", "-36", "50", "").fault("unknown means", "With", "strip"),
        bad("203", "2026-10-26", "strip", "cold", "50", "8.4")
        .fault("words in a temperature", "Freeze (°C)", "-36"),
        bad("204", "2026-10-26", "strip", "-36", "150", "8.4")
        .fault("glycol above 100 percent", "Glycol %", "50"),
        bad("205", "2026-10-26", "strip", "-36", "50", "blue")
        .fault("words in a test value", "pH", "8.4"),
    ),
    "driver_reports.csv": (
        bad("Unit", "On", "What he said").fault("required heading missing", "symptom", LEAVE_OUT),
        good("216", "2026-10-30", "cold at the back"),
    ),
    "look_overs.csv": (
        good("Unit", "On", "Upper hose", "Lower hose", "upper_hose", "Note"),
        Line(("217", "2026-10-30", "S", "S", "W", ""), "two columns of the same meaning",
             "upper_hose", ""),
    ),
}  # fmt: skip


def files(km: dict[str, int], vin: str) -> dict[str, str]:
    """Return the messy files by name; `km` is what each odometer shows, `vin` a right number."""
    fill = _Fill(km, vin)
    return {name: _csv([[fill(cell) for cell in line.cells] for line in lines])
            for name, lines in _FILES.items()}  # fmt: skip


def faults(km: dict[str, int], vin: str) -> str:
    """Return the list of what was planted: file, row, column, kind, correction."""
    fill = _Fill(km, vin)
    rows = [["file", "row", "column", "kind", "correction"]]
    for name, lines in _FILES.items():
        for n, line in enumerate(lines, 1):
            if line.kind:
                rows.append([name, str(n), line.column, line.kind, fill(line.mend)])
    return _csv(rows)


@dataclass(frozen=True, slots=True)
class _Fill:
    """Puts odometer values and the right vehicle identification number into cells."""

    km: dict[str, int]
    vin: str

    def __call__(self, cell: str) -> str:
        """Return the cell with `{unit}` and `{vin}` filled in."""
        for unit in self.km if "{" in cell else ():
            cell = cell.replace(f"{{{unit}}}", str(self.km[unit]))
        return cell.replace("{vin}", self.vin)


def _csv(rows: list[list[str]]) -> str:
    text = io.StringIO()
    csv.writer(text, lineterminator="\n").writerows(rows)
    return text.getvalue()
