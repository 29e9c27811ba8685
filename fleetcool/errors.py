"""What went wrong, said so that the user can mend it: one sentence, found, right, next step."""


class FleetcoolError(Exception):
    """A request that cannot be met; its text is the sentence the user reads (exit code 1)."""


class NotUsableError(FleetcoolError):
    """A file, setting or argument that cannot be used as it stands.

    Args:
        thing: what it is about, as the user knows it ("fleetcool.toml", "--of 2027-W60").
        found: what was found.
        expected: what would be right.
        do: the next step.
    """

    def __init__(self, thing: str, found: str, expected: str, do: str) -> None:
        """Build the sentence from its four pieces."""
        super().__init__(f"{thing}: found {found}, expected {expected}; {do}.")


class NotThereError(FleetcoolError):
    """Something named that is not in the store, or not on the disk."""

    def __init__(self, kind: str, name: str, near: str | None, do: str) -> None:
        """Build the sentence; `near` is the nearest known name, if any."""
        hint = f' (the nearest known is "{near}")' if near else ""
        super().__init__(f'There is no {kind} "{name}"{hint}; {do}.')


class StoreError(FleetcoolError):
    """The store cannot be opened, reached or used."""


class HeldByAnotherError(FleetcoolError):
    """Somebody else is doing the same work just now."""

    def __init__(self, what: str, owner: str, since: str) -> None:
        """Name the work, who has it and since when."""
        super().__init__(
            f"{what} is being made by {owner} since {since}; wait until it is done, then try again."
        )
