"""Small scenarios for studies: quick to run, and random enough to tell runs apart."""

# Three stations in a row, exponential times of 1 h, nothing between them: exact output 22/39 of a station's
# own rate (F. S. Hillier and R. W. Boling, Operations Research 15 (1967), from memory).
TANDEM = """
passline: 1
name: Three stations, no room between
metal: zinc
time: {warm_up: 50 h, length: 400 h}
stores:
  ready:      {holds: coils, capacity: 1}
  first gap:  {holds: coils, capacity: 0}
  second gap: {holds: coils, capacity: 0}
  done:       {holds: coils}
stations:
  supply: {kind: supply, to: ready, coil: {mass: 1 t, width: 1000 mm, thickness: 0.7 mm}}
  first:  {kind: step, from: ready,      to: first gap,  time: {exponential: {mean: 1 h}}}
  second: {kind: step, from: first gap,  to: second gap, time: {exponential: {mean: 1 h}}}
  third:  {kind: step, from: second gap, to: done,       time: {exponential: {mean: 1 h}}}
options:
  quick first: {set: {stations.first.time: {exponential: {mean: 30 min}}}}
  room:        {set: {stores.second gap.capacity: 5}}
  slow first:  {set: {stations.first.time: {exponential: {mean: 2 h}}}}
"""

# Two steps of the same pace, each of which alone is no help: with constant times the line makes one coil in 10 min,
# with either step faster still one in 10 min, with both one in 8 min.
TWO_EQUAL_LIMITS = """
passline: 1
name: Two equal limits
metal: zinc
time: {warm_up: 10 h, length: 100 h}
stores:
  ready: {holds: coils, capacity: 1}
  gap:   {holds: coils, capacity: 2}
  done:  {holds: coils}
stations:
  supply: {kind: supply, to: ready, coil: {mass: 1 t, width: 1000 mm, thickness: 0.7 mm}}
  first:  {kind: step, from: ready, to: gap, time: 10 min}
  second: {kind: step, from: gap, to: done, time: 10 min}
"""
QUICK_TWINS = (
    TWO_EQUAL_LIMITS
    + """
options:
  quick first:  {set: {stations.first.time: 8 min}}
  quick second: {set: {stations.second.time: 8 min}}
"""
)

# deterministic: mill 5 min, slitter 4 min a coil, both always manned
MILL_AND_SLITTER = """
passline: 1
name: A mill before a slitter
metal: zinc
time: {warm_up: 5 h, length: 100 h}
stores:
  ready: {holds: coils, capacity: 1}
  gap:   {holds: coils, capacity: 3}
  rings: {holds: coils}
stations:
  supply:  {kind: supply, to: ready, coil: {mass: 1 t, width: 1000 mm, thickness: 0.7 mm}}
  mill:    {kind: step, from: ready, to: gap, time: 5 min}
  slitter: {kind: step, from: gap, to: rings, time: 4 min}
"""
