"""Where everything on a line stands: columns in the order of flow, lanes side by side, rows at the right.

Any chain lays itself out. What follows one after the other stands in columns; what stands side by side (two casters on
one store) gets a lane each; a side branch that only cuts or profiles and then ends becomes a row at the right.
"""

from dataclasses import dataclass

from dashboard.charts.plant import Plant, Station, Store, section_for, titled

_PLAIN_SECTIONS = {"coils": "ring", "strip": "sheet"}
"""How a row is shown where nothing is known of its products but what their store holds."""
_ROW_KINDS = frozenset({"cutter", "profiler", "step"})


@dataclass(frozen=True)
class Node:
    """One place on the drawing: a station, a store, or a furnace with the bath it melts into."""

    station: Station | None
    store: Store | None

    @property
    def name(self) -> str:
        """The name that tells it from the others."""
        return f"station {self.station.name}" if self.station else f"store {self.store.name}" if self.store else ""


@dataclass(frozen=True)
class Row:
    """One row at the right: the stations of a side branch in order (none where things are sold from a store)."""

    at: str
    title: str
    section: str
    figure: str
    chain: tuple[Station, ...]
    leaves: tuple[str, ...]


Columns = tuple[tuple[Node, ...], ...]


@dataclass(frozen=True)
class Layout:
    """Columns of nodes with the lane of each, links between nodes by name, rows from top to bottom."""

    columns: Columns
    lanes: dict[str, float]
    links: tuple[tuple[str, str], ...]
    rows: tuple[Row, ...]

    def column_of(self, name: str) -> int:
        """Return the column in which a node stands."""
        return next(i for i, column in enumerate(self.columns) if any(node.name == name for node in column))

    @property
    def last_lane(self) -> float:
        """The lane furthest down; the first is 0."""
        return max(self.lanes.values(), default=0.0)

    def middle_of(self, column: int) -> float:
        """Return the lane in the middle of a column."""
        found = [self.lanes[node.name] for node in self.columns[column]]
        return (min(found) + max(found)) / 2


def side_branch(plant: Plant, first: Station) -> tuple[Station, ...] | None:
    """Return the stations from this one to the end where they follow one by one, nothing where the way forks."""
    chain: list[Station] = []
    current = first
    while current not in chain:
        chain.append(current)
        if len(current.to) > 1 or len(current.source) > 1:
            return None
        after = plant.drawers(current.to[0]) if current.to else ()
        if not after:
            return tuple(chain)
        if len(after) > 1 or len(plant.givers(current.to[0])) > 1:
            return None
        current = after[0]
    return None


def branches(plant: Plant) -> list[tuple[Station, ...]]:
    """Return the side branches: chains of cutters, profilers and steps that start at a store where the way forks."""
    found = []
    for store in plant.stores:
        after = plant.drawers(store.name)
        if len(after) < 2 or not plant.givers(store.name):
            continue
        for station in after:
            chain = side_branch(plant, station) if station.kind in _ROW_KINDS else None
            if chain:
                found.append(chain)
    return found


def _bath_of(plant: Plant, station: Station) -> Store | None:
    """Return the bath that a furnace alone melts into: the two are drawn as one vessel."""
    if station.kind != "furnace" or len(station.to) != 1:
        return None
    store = plant.store(station.to[0])
    return store if store.holds == "metal" and len(plant.givers(store.name)) == 1 else None


def _stands(plant: Plant, store: Store, in_rows: set[str], trunk: list[Station]) -> bool:
    """Whether a store gets a place of its own: not when it ends a branch, is a furnace's bath, or only fans out."""
    after = plant.drawers(store.name)
    if not after or store.name in in_rows:
        return False
    if any(_bath_of(plant, giver) is store for giver in plant.givers(store.name)):
        return False
    return store.capacity is not None or any(station in trunk for station in after)


def nodes(plant: Plant, chains: list[tuple[Station, ...]]) -> list[Node]:
    """Return what stands in the columns, in the order of the scenario."""
    in_rows = {station.name for chain in chains for station in chain}
    trunk = [station for station in plant.stations if station.name not in in_rows]
    row_stores = {store for chain in chains for station in chain for store in station.to}
    placed = [Node(station, _bath_of(plant, station)) for station in trunk]
    return placed + [Node(None, store) for store in plant.stores if _stands(plant, store, row_stores, trunk)]


def where_held(plant: Plant, placed: list[Node]) -> dict[str, tuple[str, ...]]:
    """Return for each store the nodes at which it is seen: itself, its furnace, or the stations that give to it."""
    standing = {node.store.name: node.name for node in placed if node.store}
    stations = {node.station.name: node.name for node in placed if node.station}
    return {
        store.name: (standing[store.name],)
        if store.name in standing
        else tuple(stations[giver.name] for giver in plant.givers(store.name) if giver.name in stations)
        for store in plant.stores
    }


def links(plant: Plant, placed: list[Node], held: dict[str, tuple[str, ...]]) -> list[tuple[str, str]]:
    """Return which node hands on to which."""
    found = []
    for node in placed:
        if node.station is None:
            continue
        found += [(before, node.name) for store in node.station.source for before in held[store]]
        found += [(node.name, after) for store in node.station.to for after in held[store]]
    return [pair for pair in dict.fromkeys(found) if pair[0] != pair[1]]


def ranks(names: list[str], pairs: list[tuple[str, str]]) -> dict[str, int]:
    """Return the column of each node: one further than the furthest before it; what starts late stands late.

    A ring of stations, where something is sent back, is cut where it closes.
    """
    rank = dict.fromkeys(names, 0)
    for _ in names:
        moved = {after: rank[before] + 1 for before, after in pairs if rank[after] < rank[before] + 1 < len(names)}
        if not moved:
            break
        rank.update(moved)
    fed = {after for _, after in pairs}
    for name in names:
        after = [rank[b] for a, b in pairs if a == name]
        if name not in fed and after:
            rank[name] = max(0, min(after) - 1)
    return rank


def spread(wanted: list[float]) -> list[float]:
    """Return lanes at least one apart in the order given, together as near as can be to where they are wanted."""
    lanes: list[float] = []
    for lane in wanted:
        lanes.append(max(lane, lanes[-1] + 1.0) if lanes else lane)
    shift = (sum(wanted) - sum(lanes)) / len(lanes) if lanes else 0.0
    return [lane + shift for lane in lanes]


def seat(placed: list[Node], rank: dict[str, int], pairs: list[tuple[str, str]]) -> tuple[Columns, dict[str, float]]:
    """Return the nodes column by column and the lane of each: in the middle of what feeds it, fresh sources below."""
    columns: list[tuple[Node, ...]] = []
    lanes: dict[str, float] = {}
    for column in sorted(set(rank.values())):
        here = [node for node in placed if rank[node.name] == column]
        before = {n.name: [lanes[a] for a, b in pairs if b == n.name and a in lanes] for n in here}
        lowest = max([*lanes.values(), *(max(found) for found in before.values() if found)], default=-1.0)
        wanted = {name: sum(found) / len(found) if found else lowest + 1.0 for name, found in before.items()}
        here.sort(key=lambda n: wanted[n.name])
        lanes |= dict(zip((n.name for n in here), spread([wanted[n.name] for n in here]), strict=True))
        columns.append(tuple(here))
    first = min(lanes.values(), default=0.0)
    return tuple(columns), {name: lane - first for name, lane in lanes.items()}


def _row(plant: Plant, at: str, chain: tuple[Station, ...], leaves: tuple[str, ...]) -> Row:
    """Return one row with what the page said about it, or else what its names say."""
    said = plant.branch(at)
    shown = chain[-1].shown if chain else plant.store(at).shown
    if said is None and chain and chain[-1].to:
        said = plant.branch(chain[-1].to[0])
    title = said.title if said and said.title else shown
    section = said.section if said and said.section else section_for(title, at)
    end = chain[-1].to[0] if chain and chain[-1].to else None if chain else at
    holds = plant.store(end).holds if end else ""
    if section == "channel" and holds in _PLAIN_SECTIONS:
        section = _PLAIN_SECTIONS[holds]
    return Row(at, titled(title), section, said.figure if said else "", chain, leaves)


def rows(plant: Plant, chains: list[tuple[Station, ...]], held: dict[str, tuple[str, ...]]) -> list[Row]:
    """Return the rows: what is sold straight from a store, what trunk stations end in, and the side branches."""
    in_rows = {station.name for chain in chains for station in chain}
    sold = [branch.at for branch in plant.branches if branch.at in held and plant.drawers(branch.at)]
    ends = [
        store.name
        for store in plant.stores
        if not plant.drawers(store.name) and any(giver.name not in in_rows for giver in plant.givers(store.name))
    ]
    made = [_row(plant, at, (), held[at]) for at in dict.fromkeys(sold + ends)]
    return made + [_row(plant, chain[-1].name, chain, held[chain[0].source[0]]) for chain in chains]


def lay_out(plant: Plant) -> Layout:
    """Return where everything on the line stands."""
    chains = branches(plant)
    placed = nodes(plant, chains)
    held = where_held(plant, placed)
    pairs = links(plant, placed, held)
    columns, lanes = seat(placed, ranks([node.name for node in placed], pairs), pairs)
    layout = Layout(columns, lanes, tuple(pairs), ())
    ordered = sorted(rows(plant, chains, held), key=lambda row: -max(map(layout.column_of, row.leaves), default=0))
    return Layout(layout.columns, lanes, layout.links, tuple(ordered))
