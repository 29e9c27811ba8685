"""What a visit drains."""

import numpy as np
import pandas as pd

from fleetcool.coolant.fills import is_whole_change, visit_litres
from fleetcool.knowledge.reader import in_force

KNOWLEDGE = in_force({}, 20_000)


def test_several_wet_services_of_one_visit_drain_once_to_the_deepest() -> None:
    vehicles = pd.DataFrame(
        {"vehicle": ["104"], "layout": ["diesel six heavy"], "coolant_litres": [40.0]}
    )
    services = ["new thermostat", "coolant change", "new drive belt"]
    rows = pd.DataFrame({"visit": "104-27W05", "vehicle": "104", "service": services})
    alone = [visit_litres(rows.iloc[[at]], vehicles, KNOWLEDGE)["litres"].sum() for at in range(3)]
    together = visit_litres(rows, vehicles, KNOWLEDGE)["litres"]
    assert alone[2] == 0.0
    assert 0.0 < alone[0] <= alone[1] <= 40.0
    assert list(together) == [alone[1]]


def test_what_counts_as_a_whole_change() -> None:
    """From 75 % replaced it counts as whole: the project's rule; common practice, no source."""
    history = pd.DataFrame(
        [
            ("coolant change", np.nan, None),
            ("coolant change", 60.0, "drained and filled"),
            ("new pump", 80.0, "drained and filled"),
            ("new pump", np.nan, "put back"),
            ("coolant change", 90.0, "topped up"),
        ],
        columns=["service", "replaced_share", "how"],
    )
    whole = is_whole_change(history, {"coolant change"}, 75.0)
    assert list(whole) == [True, False, True, False, False]
