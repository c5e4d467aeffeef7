"""The windows as a calendar: by the letter of RFC 5545, and as two independent readers see it."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from math import inf
from zoneinfo import ZoneInfo

import icalendar
import pytest

from twin.indicators import Verdict
from twin.indicators.intervals import Interval
from twin.study.rollcalendar import calendar, folded
from twin.study.rollplain import change_rows, plain, sweep_rows
from twin.study.rollresult import Answer, Change, Life, Place, Point, Price, Sweep
from twin.study.rollshop import Stay

HOUR = 3600.0
STAMP = datetime(2026, 3, 27, 11, tzinfo=UTC)


def an_answer() -> Answer:
    """Return an invented answer, the day before the clocks change in Vienna, with letters beyond ASCII."""
    prices = tuple(Price(at * HOUR, 0.2 * abs(at - 3.0), 2.0, 0.01 * at) for at in range(1, 6))
    needs = ("the crew of the Walzgerüst", "crane")
    why = "Set 2 is ready only at Fri 15:00; " + "über " * 12 + "and no sooner, so it stays; as it is."
    change = Change(2, 3, HOUR, 3 * HOUR, 4 * HOUR, 0.3, inf, 55.0, 0.1, 0.12, 2 * HOUR, HOUR, needs, why, prices)
    over_night = Change(3, 1, 20 * HOUR, 30 * HOUR, 40 * HOUR, 0.1, 0.2, 57.0, 0.1, 0.2, None, None, needs, "", prices)
    some = Interval(600.0, 590.0, 610.0)
    none = Interval(0.0, 0.0, 0.0)
    point = Point(57.0, True, some, none, none, none, none, none, None, 2.5)
    return Answer(
        scenario="Invented; for tests, of calendars", digest="ab" * 32, seed=1, runs=2, futures=2, station="Walzgerüst",
        now=datetime(2026, 3, 28, 12, tzinfo=ZoneInfo("Europe/Vienna")), source="invented", days=3.0, used=10.0,
        limit=57.0, life=Life("weibull", 2.4, 110.0, 97.5, ""), age=None,
        sweep=Sweep((point,), 57.0, (57.0, inf), False, "neither", "", ""), rules=(),
        sets=(Place(1, "ready", None, None, None, False),), stays=(Stay(1, "ready", 0.0, HOUR),),
        changes=(change, over_night), hour_worth=some, worth_telling=0.6, hour_matters=True, matters=True, waits=0.0,
        checked=None, verdict=Verdict((), ""), assumed=("a",), cautions=("Lock out; keep clear.",), shop_open=(),
        zone="Europe/Vienna",
    )  # fmt: skip


def test_every_line_ends_and_is_folded_as_rfc_5545_says() -> None:
    """RFC 5545, section 3.1: CRLF, at most 75 octets without it, continued after one space, no character split."""
    made = calendar(an_answer(), stamp=STAMP)

    assert made.endswith(b"\r\n")
    assert b"\n" not in made.replace(b"\r\n", b"")
    for line in made.split(b"\r\n"):
        assert len(line) <= 75
        line.decode("utf-8")
    unfolded = made.replace(b"\r\n ", b"").decode("utf-8")
    assert unfolded.count("BEGIN:VEVENT") == 2
    assert "über über" in unfolded
    for name in ("UID", "DTSTAMP", "DTSTART", "DTEND", "SUMMARY"):  # section 3.6.1: what an event must or may have
        assert unfolded.count(f"\r\n{name}:") == 2
    assert unfolded.startswith("BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:")


@pytest.mark.parametrize(("text", "octets"), [("x" * 100, [75, 34]), ("ü" * 60, [74, 55])])
def test_lines_are_folded_at_75_octets_and_no_character_is_split(text: str, octets: list[int]) -> None:
    """RFC 5545, section 3.1 (check E-O5): the octets of each line without its end, with the blank that begins it."""
    made = folded(f"SUMMARY:{text}".encode())

    assert [len(line) for line in made.split(b"\r\n")] == [*octets, 0]
    assert made.replace(b"\r\n ", b"") == f"SUMMARY:{text}\r\n".encode()


def test_text_is_escaped_and_comes_back_as_it_was() -> None:
    """RFC 5545, section 3.3.11: commas, semicolons and line ends are escaped."""
    answer = an_answer()
    unfolded = calendar(answer, stamp=STAMP).replace(b"\r\n ", b"").decode("utf-8")

    assert "set 2 off\\, set 3 on" in unfolded
    assert "ready only at Fri 15:00\\; " in unfolded
    read = icalendar.Calendar.from_ical(calendar(answer, stamp=STAMP))
    first = read.walk("VEVENT")[0]
    assert "Lock out; keep clear." in str(first["DESCRIPTION"])
    assert answer.changes[0].why in str(first["DESCRIPTION"])


def test_a_second_reader_sees_the_same_events_at_the_same_times() -> None:
    """Read by vobject, written independently of the library that writes; 2026-03-29 has 23 hours in Vienna."""
    vobject = pytest.importorskip("vobject")
    answer = an_answer()
    made = calendar(answer, stamp=STAMP)

    events = icalendar.Calendar.from_ical(made).walk("VEVENT")
    one = [(str(e["SUMMARY"]), e.decoded("DTSTART"), e.decoded("DTEND")) for e in events]
    two = [(e.summary.value, e.dtstart.value, e.dtend.value) for e in vobject.readOne(made.decode()).vevent_list]

    assert one == two
    assert two[0][0] == "Walzgerüst: set 2 off, set 3 on"
    assert two[0][1] == datetime(2026, 3, 28, 12, tzinfo=UTC)
    assert two[1][1] == datetime(2026, 3, 28, 11, tzinfo=UTC) + timedelta(hours=20)
    local = two[1][2].astimezone(ZoneInfo("Europe/Vienna"))
    assert (local.day, local.hour) == (30, 5)


def test_an_event_keeps_its_name_when_the_same_plan_is_written_again() -> None:
    """A calendar program takes an event with a known UID for the same one (RFC 5545, section 3.8.4.7)."""
    first, again = (icalendar.Calendar.from_ical(calendar(an_answer())).walk("VEVENT") for _ in range(2))

    assert [str(e["UID"]) for e in first] == [str(e["UID"]) for e in again]
    assert len({str(e["UID"]) for e in first}) == 2


def test_the_results_have_the_fixed_keys_and_no_infinite_number() -> None:
    import orjson

    results = plain(an_answer())
    text = orjson.dumps(results)

    fixed = {"passline", "station", "verdict", "matters", "life", "age", "line", "changes"}
    assert fixed <= set(results)
    assert {"set", "earliest", "best", "latest", "price_per_half_hour", "why"} <= set(results["changes"][0])
    assert {"change_after", "good", "change"} <= set(results["line"][0])
    assert {"shape", "scale"} <= set(results["life"])
    assert results["sweep"]["flat"] == [57.0, None]
    assert results["changes"][0]["late_per_half_hour"] is None
    assert results["changes"][0]["price_per_half_hour"] == 0.3
    assert results["changes"][1]["best"] == "2026-03-29T19:00:00+02:00"  # 30 h after noon, one of them skipped
    assert b"Infinity" not in text


def test_tables_have_a_row_for_each_change_and_distance() -> None:
    answer = an_answer()

    assert [row["set_on"] for row in change_rows(answer)] == [3, 1]
    assert change_rows(answer)[0]["late_t_per_half_hour"] is None
    assert sweep_rows(answer)[0]["change_after_km"] == 57.0
