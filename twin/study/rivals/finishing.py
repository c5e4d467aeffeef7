"""The finishing lines of the rivals: ring by ring, piece by piece, and with a process for each piece. In minutes."""

from collections.abc import Callable, Mapping
from typing import NamedTuple

import numpy as np
import simpy

from twin.study.rivals.plant import DAY_SHIFT, TWO_SHIFTS, Plant, new_plant, start
from twin.study.rivals.shifts import Process, Shift, Window


class Product(NamedTuple):
    """Pieces from a ring, minutes a piece at the profiler, mean tool change, share scrapped."""

    pieces: int
    takes: float
    change: tuple[float, float, float]
    scrap: float


class FinishingLine(NamedTuple):
    """A cutter and a profiler with room for a few blanks between them; `cut` 0 where one machine does both."""

    windows: list[Window]
    cut: float
    ring_change: float
    jam_after: float


PRODUCTS = {
    "gutter 333": Product(309, 3.0 / 40.0, (70, 90, 130), 0.018),
    "gutter 250": Product(309, 3.0 / 42.0, (70, 90, 130), 0.018),
    "box": Product(270, 3.0 / 24.0, (70, 90, 130), 0.02),
    "pipe 100": Product(333, 3.0 / 15.0, (90, 120, 170), 0.03),
    "pipe 80": Product(333, 3.0 / 17.0, (90, 120, 170), 0.03),
    "sheet": Product(463, 0.1333, (0, 0, 1), 0.0),
}
LINES = {
    "gutter": FinishingLine(TWO_SHIFTS, 1.0 / 28.0, 6.5, 480.0),
    "box": FinishingLine(DAY_SHIFT, 1.0 / 28.0, 6.5, 0.0),
    "pipe": FinishingLine(TWO_SHIFTS, 0.0, 6.5, 0.0),
    "sheet": FinishingLine(DAY_SHIFT, 0.0, 12.0, 0.0),
}
BLANKS = 60


def _run(plant: Plant, line: Callable[[Plant, str], None], days: float) -> Plant:
    start(plant)
    for name in LINES:
        line(plant, name)
    plant.env.run(days * 1440.0)
    return plant


def run_by_coil(days: float, seed: int = 2026) -> Plant:
    """Run the plant with one step of work a ring: the usual way to write such a line."""
    return _run(new_plant(seed, tuple(LINES)), _ring_line, days)


def run_by_piece(days: float, seed: int = 2026) -> Plant:
    """Run the plant with every blank and every piece an event, as it happens."""
    return _run(new_plant(seed, tuple(LINES)), _piece_line, days)


def run_by_process(days: float, seed: int = 2026) -> Plant:
    """Run the plant with a process for each piece that asks for its machines: how SimPy's own examples are written."""
    return _run(new_plant(seed, tuple(LINES)), _process_line, days)


def _ring_line(plant: Plant, name: str) -> None:
    plant.env.process(_rings(plant, name, LINES[name]))


def _rings(plant: Plant, name: str, line: FinishingLine) -> Process:
    shift, draw, tool = Shift(plant.env, line.windows), plant.draw, ""
    while True:
        product, pattern, last = yield plant.lines[name].get()
        made = PRODUCTS[product]
        if product != tool:
            yield from shift.work(float(draw.triangular(*made.change)))
            tool = product
        jams = draw.poisson(made.pieces / line.jam_after) if line.jam_after else 0
        stops = float(draw.gamma(1.0 / 0.49, 2.2 * 0.49, jams).sum())
        yield from shift.work(line.ring_change + made.pieces * max(made.takes, line.cut) + stops)
        plant.pieces += made.pieces - int(draw.binomial(made.pieces, made.scrap))
        plant.in_flow[pattern] -= last


def _piece_line(plant: Plant, name: str) -> None:
    line = LINES[name]
    if line.cut == 0.0:
        plant.env.process(_single(plant, name, line))
        return
    blanks = simpy.Container(plant.env, BLANKS, 0)
    rings = simpy.Store(plant.env)
    plant.env.process(_cutter(plant, name, line, blanks, rings))
    plant.env.process(_profiler(plant, line, blanks, rings))


def _cutter(plant: Plant, name: str, line: FinishingLine, blanks: simpy.Container, rings: simpy.Store) -> Process:
    """Cut ring after ring into blanks, each put down where there is room."""
    env, shift = plant.env, Shift(plant.env, line.windows)
    while True:
        ring = yield plant.lines[name].get()
        yield from shift.work(line.ring_change)
        yield rings.put(ring)
        for _ in range(PRODUCTS[ring[0]].pieces):
            if env.now >= shift.closes:
                yield from shift.opening()
            yield env.timeout(line.cut)
            yield blanks.put(1)


def _profiler(plant: Plant, line: FinishingLine, blanks: simpy.Container, rings: simpy.Store) -> Process:
    """Profile blank after blank, with jams by count and scrap by chance."""
    env, draw, shift = plant.env, plant.draw, Shift(plant.env, line.windows)
    tool = ""
    jam_in = float(draw.exponential(line.jam_after)) if line.jam_after else float("inf")
    while True:
        product, pattern, last = yield rings.get()
        made = PRODUCTS[product]
        if product != tool:
            yield from shift.work(float(draw.triangular(*made.change)))
            tool = product
        scrapped = draw.random(made.pieces) < made.scrap
        for scrap in scrapped.tolist():
            yield blanks.get(1)
            if env.now >= shift.closes:
                yield from shift.opening()
            yield env.timeout(made.takes)
            plant.pieces += not scrap
            jam_in -= 1.0
            if jam_in <= 0.0:
                yield from shift.work(float(draw.gamma(1.0 / 0.49, 2.2 * 0.49)))
                jam_in = float(draw.exponential(line.jam_after))
        plant.in_flow[pattern] -= last


def _single(plant: Plant, name: str, line: FinishingLine) -> Process:
    """Make pieces straight from the ring."""
    env, draw, shift = plant.env, plant.draw, Shift(plant.env, line.windows)
    tool = ""
    while True:
        product, pattern, last = yield plant.lines[name].get()
        made = PRODUCTS[product]
        if product != tool:
            yield from shift.work(float(draw.triangular(*made.change)))
            tool = product
        yield from shift.work(line.ring_change)
        for scrap in (draw.random(made.pieces) < made.scrap).tolist():
            if env.now >= shift.closes:
                yield from shift.opening()
            yield env.timeout(made.takes)
            plant.pieces += not scrap
        plant.in_flow[pattern] -= last


class Cell:
    """The machines of one finishing line, as what its pieces ask for; one machine is its own cutter."""

    def __init__(self, plant: Plant, line: FinishingLine) -> None:
        self.plant = plant
        self.line = line
        self.shift = Shift(plant.env, line.windows)
        self.cutter = simpy.Resource(plant.env, 1)
        self.table = simpy.Resource(plant.env, BLANKS)
        self.profiler = simpy.Resource(plant.env, 1)
        self.tool = ""
        self.jam_in = float(plant.draw.exponential(line.jam_after)) if line.jam_after else float("inf")

    def open(self) -> Process:
        """Wait for the shift where it has ended."""
        if self.plant.env.now >= self.shift.closes:
            yield from self.shift.opening()

    def change_tool(self, product: str) -> Process:
        """Change to another product's tool."""
        if product != self.tool:
            yield from self.shift.work(float(self.plant.draw.triangular(*PRODUCTS[product].change)))
            self.tool = product

    def jam(self) -> Process:
        """Count a piece, and clear the jam that it makes."""
        self.jam_in -= 1.0
        if self.jam_in <= 0.0:
            yield from self.shift.work(float(self.plant.draw.gamma(1.0 / 0.49, 2.2 * 0.49)))
            self.jam_in = float(self.plant.draw.exponential(self.line.jam_after))


def _process_line(plant: Plant, name: str) -> None:
    plant.env.process(_start_pieces(plant, name, Cell(plant, LINES[name])))


def _start_pieces(plant: Plant, name: str, cell: Cell) -> Process:
    """Take ring after ring, change it when the blanks before it are cut, and start its pieces."""
    first = cell.cutter if cell.line.cut else cell.profiler
    while True:
        product, pattern, last = yield plant.lines[name].get()
        with first.request() as turn:
            yield turn
            yield from cell.shift.work(cell.line.ring_change)
        scrapped = (plant.draw.random(PRODUCTS[product].pieces) < PRODUCTS[product].scrap).tolist()
        for scrap in scrapped:
            plant.env.process(_piece(cell, product, scrap))
        plant.in_flow[pattern] -= last


def _piece(cell: Cell, product: str, scrap: bool) -> Process:
    """Be cut, lie on the table, be profiled: with the tool change and the jam that come with this piece."""
    env, cut = cell.plant.env, cell.line.cut > 0.0
    if cut:
        with cell.cutter.request() as turn:
            yield turn
            yield from cell.open()
            yield env.timeout(cell.line.cut)
            place = cell.table.request()
            yield place
    with cell.profiler.request() as turn:
        yield turn
        if cut:
            yield cell.table.release(place)
        yield from cell.open()
        yield from cell.change_tool(product)
        yield env.timeout(PRODUCTS[product].takes)
        cell.plant.pieces += not scrap
        yield from cell.jam()


def figures(plant: Plant) -> Mapping[str, int]:
    """Return what a run has counted."""
    counted = {"mother coils": plant.coils, "slit": plant.slit, "pieces": plant.pieces, "roll changes": plant.changes}
    return {name: int(np.int64(number)) for name, number in counted.items()}
