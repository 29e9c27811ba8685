"""The holidays of each region, copied into the store so that no computation looks them up."""

import pandas as pd
import sqlalchemy as sa

from fleetcool.store.bulk import bulk_insert, read_frame
from fleetcool.store.engine import Store, reading, writing
from fleetcool.store.schema import HOLIDAYS


def keep_holidays(store: Store, frame: pd.DataFrame) -> None:
    """Keep the holidays of the regions named in a frame region, on (ISO day), name.

    What a region had before is replaced in the years that the frame speaks of.
    """
    fresh = frame.drop_duplicates(["region", "on", "name"])
    with writing(store) as connection:
        for region, rows in fresh.groupby("region"):
            of_years = HOLIDAYS.c.on.between(
                f"{rows['on'].min()[:4]}-01-01", f"{rows['on'].max()[:4]}-12-31"
            )
            connection.execute(HOLIDAYS.delete().where(HOLIDAYS.c.region == region, of_years))
        bulk_insert(connection, HOLIDAYS, fresh)


def read_holidays(store: Store) -> pd.DataFrame:
    """Return region, on (ISO day), name, sorted."""
    with reading(store) as connection:
        frame = read_frame(connection, sa.select(*HOLIDAYS.c))
    return frame.sort_values(["region", "on", "name"], ignore_index=True)
