"""Which part numbers mean the same part: same as, replaced by, the maker's and sellers' numbers."""

from collections.abc import Iterable
from dataclasses import dataclass, field

from fleetcool.model.numbers import part_key
from fleetcool.model.standing import Standing

_PAIRS = (
    ("parts", "same_as"),
    ("parts", "replaced_by"),
    ("parts", "maker_number"),
    ("offers", "their_number"),
)


@dataclass(frozen=True, slots=True)
class Sameness:
    """Part numbers, as they are compared, joined where they mean the same part."""

    parent: dict[str, str] = field(default_factory=dict)

    def one(self, part: str, other: str) -> bool:
        """Tell whether two numbers mean the same part."""
        return self._root(part_key(part)) == self._root(part_key(other))

    def join(self, pairs: Iterable[tuple[str, str]]) -> None:
        """Join the two numbers of each pair."""
        for one, other in pairs:
            a, b = self._root(part_key(one)), self._root(part_key(other))
            self.parent[max(a, b)] = min(a, b)

    def _root(self, key: str) -> str:
        while (up := self.parent.get(key, key)) != key:
            self.parent[key] = self.parent.get(up, up)
            key = up
        return key


def sameness_of(standing: Standing) -> Sameness:
    """Return which part numbers of the tables parts and offers mean the same part."""
    same = Sameness()
    for table, column in _PAIRS:
        pairs = standing[table][["part", column]].dropna()
        same.join((str(one), str(other)) for one, other in pairs.itertuples(index=False, name=None))
    return same
