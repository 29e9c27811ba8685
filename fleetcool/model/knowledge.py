"""The knowledge in force: shipped rows with the user's rows over them, layouts made whole."""

from dataclasses import dataclass

import pandas as pd


@dataclass(frozen=True, slots=True)
class Knowledge:
    """What is known of cooling systems in general, one frame a shipped table.

    Every frame has the columns of its table in `model.knowledge_tables` and `origin` ("shipped"
    or "yours"). Layouts that are `like` another are made whole in every layout frame, so that no
    reader follows `like` again. Numbers are float with NaN for empty, in km, hours, L, kPa, N·m,
    minutes; texts that join several names by + stay joined.
    """

    services: pd.DataFrame
    layouts: pd.DataFrame
    layout_places: pd.DataFrame
    layout_services: pd.DataFrame
    layout_parts: pd.DataFrame
    steps: pd.DataFrame
    service_steps: pd.DataFrame
    fasteners: pd.DataFrame
    limits: pd.DataFrame
    coolants: pd.DataFrame
    bands: pd.DataFrame
    remedies: pd.DataFrame
    life_priors: pd.DataFrame
    symptoms: pd.DataFrame
    cautions: pd.DataFrame


def names(joined: object) -> tuple[str, ...]:
    """Return the names in a text that joins them by +; nothing for a missing one."""
    if not isinstance(joined, str):
        return ()
    return tuple(name.strip() for name in joined.split("+") if name.strip())
