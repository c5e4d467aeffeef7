"""Which pattern the next mother coil is for: shares kept, sequences followed, and what is sold as it is."""

from mypy_extensions import i64

from twin.line.rules.state import NEVER, Coil, Line, Mother, Pattern, Ring, Share


def plan(line: Line, coil: Coil) -> None:
    """Decide which pattern a mother coil is for, if the line has patterns and nobody has decided yet."""
    planner = line.planner
    if not planner.used or coil.pattern >= 0:
        return
    assign(line, coil, next_pattern(line))


def assign(line: Line, coil: Coil, pattern: i64) -> None:
    """Set the coil down for a pattern and count it in that pattern's flow."""
    planner = line.planner
    planner.shares[pattern].made += 1.0
    planner.total += 1.0
    count_mothers(line, pattern, 1.0)
    coil.pattern = pattern
    coil.lane = 1 + pattern
    coil.mother.pattern = pattern


def next_pattern(line: Line) -> i64:
    """Take the next of the sequence; else, or when it is used up, the pattern furthest behind its share, not held."""
    planner = line.planner
    if planner.at < len(planner.sequence):
        catch_up(line)
        pattern = planner.sequence[planner.at]
        planner.at += 1
        if planner.repeats and planner.at == len(planner.sequence):
            planner.at = 0
        return pattern
    pattern = furthest_behind(line, True)
    return pattern if pattern >= 0 else furthest_behind(line, False)


def catch_up(line: Line) -> None:
    """Leave a step of a dated plan when the next one's time has come."""
    planner = line.planner
    if len(planner.begins) == 0:
        return
    last = planner.at
    for i in range(planner.at, len(planner.begins)):
        if planner.begins[i] <= line.now and planner.begins[i] > planner.begins[last]:
            last = i
    if last > planner.at and planner.begins[last] > planner.begins[planner.at]:
        while planner.begins[last - 1] == planner.begins[last]:
            last -= 1
        planner.at = last


def furthest_behind(line: Line, respect_holds: bool) -> i64:
    """Find the pattern that lacks most coils to keep its share; -1 if all are held."""
    planner = line.planner
    best: i64 = -1
    most = -NEVER
    following = planner.total + 1.0
    place: i64 = 0
    for own in planner.shares:
        if own.share > 0.0:
            lack = own.share * following - own.made
            if lack > most and not (respect_holds and held(own)):
                most = lack
                best = place
        place += 1
    return best


def held(share: Share) -> bool:
    """Tell whether a station that this pattern waits for has too many mother coils on their way to it."""
    for hold in share.holds:
        if hold.before.coils > hold.above:
            return True
    return False


def count_mothers(line: Line, pattern: i64, change: float) -> None:
    """Count a mother coil more or less on its way."""
    for hold in line.planner.shares[pattern].holds:
        hold.before.coils += change


def sell_as_ring(pattern: Pattern, ring: Ring) -> bool:
    """Tell whether this ring is sold as it is, so that in the long run the pattern's share of each product is."""
    if pattern.sold_share <= 0.0 or ring.sold_as < 0:
        return False
    owed = pattern.owed[ring.debt] + pattern.sold_share
    sells = owed >= 1.0 - 1e-9
    pattern.owed[ring.debt] = owed - 1.0 if sells else owed
    return sells


def new_coil(line: Line, mass: float) -> Coil:
    """Bring a mother coil into being now."""
    line.coils_made += 1
    line.mothers += 1
    line.mothers_in += 1
    coil = Coil(line.coils_made, mass, Mother(line.coils_made, line.now))
    if line.heat_kg < NEVER:
        line.heat_sum += mass
        coil.heat = int(line.heat_sum / line.heat_kg) + 1
    return coil
