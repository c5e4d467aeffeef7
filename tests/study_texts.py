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
