"""A climate's table: every way in which people write one, and every way in which it goes wrong, by its line."""

from datetime import date, datetime, timedelta

import numpy as np
import pytest

from keyaction.cases.seasons.climate_file import climates, read_climate
from keyaction.cases.text.defects import CaseProblem
from keyaction.models.climate.guidance import remarks
from keyaction.models.climate.states import STATES
from keyaction.models.climate.wave import default_year

HEAD = "date,temperature,humidity"


@pytest.fixture
def table(tmp_path):
    """Writes a table and reads it."""

    def read(text):
        data = text if isinstance(text, bytes) else text.encode()
        (tmp_path / "air.csv").write_bytes(data)
        return read_climate("air.csv", tmp_path)

    return read


@pytest.fixture
def wrong(table):
    """The defects of a table, a line each."""

    def lines(text):
        with pytest.raises(CaseProblem) as problem:
            table(text)
        return str(problem.value).split("\n")

    return lines


def days(count, start=date(2025, 1, 1)):
    return [f"{start + timedelta(days=i)}" for i in range(count)]


def rows(dates, temperature="18", humidity="55"):
    return "\n".join([HEAD, *(f"{one},{temperature},{humidity}" for one in dates)])


# -- as it should be -----------------------------------------------------------------------------------------
def test_a_plain_table(table):
    year = table(f"{HEAD}\n2025-01-01,20,55\n2025-01-02,-2.5,60.5\n")
    assert year.seconds.tolist() == [0.0, 86400.0]
    assert year.temperature.tolist() == pytest.approx([293.15, 270.65])
    assert year.humidity.tolist() == pytest.approx([0.55, 0.605])
    assert (year.name, year.start, year.source) == ("air.csv", date(2025, 1, 1), "the table air.csv")
    assert not isinstance(year.start, datetime)


@pytest.mark.parametrize(
    "text",
    [
        "HUMIDITY,Date,Temperature\n55,2025-01-01,20\n60,2025-01-02,21",
        "date;temperature;humidity\n2025-01-01;20,0;55,0\n2025-01-02;21,0;60",
        "date;temperature;humidity\n2025-01-01;20.0;55\n2025-01-02;21;60.0",
        "date,temperature [K],humidity [1]\n2025-01-01,293.15,0.55\n2025-01-02,294.15,0.6",
        "date, temperature (°C) , humidity (%)\r\n2025-01-01, 20 , 55\r\n2025-01-02, 21 , 60\r\n",
        f"{HEAD}\n2025-01-01,20 degC,55 %\n2025-01-02,294.15 K,60 %",
        "date;temperature;humidity\n2025-01-01;20,0 °C;55,0 %\n2025-01-02;21;60",
        f"\ufeff{HEAD}\r2025-01-01,20,55\r\r2025-01-02,21,60\r",
        f'{HEAD}\n"2025-01-01","20","55"\n# a remark\n,,\n2025-01-02,21,60',
        "date,temperature [K],humidity\n2025-01-01,20 degC,55\n2025-01-02,294.15,60",
        "date,temperature,humidity [share]\n2025-01-01,20,55 %\n2025-01-02,21,0.6",
    ],
    ids=["order", "commas", "points", "units", "brackets", "cells", "both", "mark", "quoted", "own unit", "share"],
)
def test_however_it_is_written_it_says_the_same(table, text):
    year = table(text)
    assert year.seconds.tolist() == [0.0, 86400.0]
    assert year.temperature.tolist() == pytest.approx([293.15, 294.15])
    assert year.humidity.tolist() == pytest.approx([0.55, 0.6])
    assert year.start == date(2025, 1, 1)


def test_frost_with_any_minus(table):
    year = table("date;temperature;humidity\n2025-01-01;−5,5;55\n2025-01-02;-5.5;55")
    assert year.temperature.tolist() == pytest.approx([267.65, 267.65])


def test_a_leap_year_has_366_days(table):
    year = table(rows(days(366, date(2024, 1, 1))))
    assert (len(year), year.days[-1], year.when(59), year.when(365)) == (366, 365.0, "29 Feb", "31 Dec")


def test_one_day_is_enough(table):
    year = table(f"{HEAD}\n2025-01-01,20,55")
    assert (len(year), year.seconds.tolist()) == (1, [0.0])


def test_hours_are_told_as_hours(table):
    hours = [f"2025-07-{1 + i // 24:02d} {i % 24:02d}:00" for i in range(72)]
    text = rows(hours).replace("2025-07-02 14:00,18,55", "2025-07-02 14:00,18,64")
    year = table(text)
    assert isinstance(year.start, datetime)
    assert np.all(np.diff(year.seconds) == 3600.0)
    assert [one.text for one in remarks(year)] == ["humidity above 60 %, highest 64 %: 1 hour, on 2 Jul 14:00"]


def test_times_with_their_offset_go_through_the_change_of_clocks(table):
    text = rows(["2025-10-26 01:00+02:00", "2025-10-26T02:00:00+02:00", "2025-10-26 02:00+01:00", "2025-10-26 02:00Z"])
    year = table(text)
    assert year.seconds.tolist() == [0.0, 3600.0, 7200.0, 10800.0]
    assert year.start == datetime(2025, 10, 26, 1)


def test_uneven_times_are_no_gaps(table):
    assert len(table(rows(["2025-01-01 00:00", "2025-01-01 01:00", "2025-01-01 05:30", "2025-01-02 05:00"]))) == 4


def test_remarks_at_its_head_are_its_source(table):
    year = table(f"# Invented:\n# a damp valley.\n{HEAD}\n2025-01-01,20,55\n# not this")
    assert year.source == "Invented: a damp valley."


def test_fog_and_hard_frost_are_taken_and_told(table):
    year = table(f"{HEAD}\n2025-01-01,-12,100\n2025-01-02,-3,2")
    assert year.humidity.tolist() == [1.0, 0.02]
    assert {one.source[:13] for one in remarks(year)} >= {"Wood Handbook"}


# -- what is wrong -------------------------------------------------------------------------------------------
def test_every_defect_is_named_at_once(wrong):
    found = wrong(
        f"{HEAD}\n2025-01-01,20,55\n2025-01-02,,60\n2025-01-03,20 %,104\n2025-01-04,5 m,-1\n2025-01-05,nan,x\n"
        "1 Feb,20,55\n2025-01-07,20,55,1\n2025-01-06,293,0.5\n,20,55\n2025-01-07,inf,1_0\n"
    )
    expected = [
        (3, "temperature", "empty"),
        (4, "temperature", "'20 %' is a plain number; a temperature is needed"),
        (4, "humidity", "104 %: allowed: 0 to 100 %"),
        (5, "temperature", "'5 m' is a length"),
        (5, "humidity", "-1 %: allowed: 0 to 100 %"),
        (6, "temperature", "is no number"),
        (6, "humidity", "'x' does not begin with a number; a share is needed, e.g. '50 %'"),
        (7, "date", "no date: write year-month-day"),
        (8, "", "has 4 cells where the header has 3"),
        (9, "temperature", "293 °C: allowed: -60 °C to 60 °C; in kelvin?"),
        (9, "humidity", "0.5 %: no air of a room is so dry; a share"),
        (10, "date", "empty; every row needs a date"),
        (11, "temperature", '"inf": is no number'),
        (11, "humidity", '"1_0": is no number'),
    ]
    assert len(found) == len(expected)
    for line, field, told in expected:
        hits = [one for one in found if one.startswith(f"air.csv: line {line}") and told in one]
        assert len(hits) == 1, (line, told)
        assert field in hits[0]


def test_a_gap_is_named_with_what_is_missing(wrong):
    dates = days(30)
    assert wrong(rows(dates[:10] + dates[13:])) == [
        "air.csv: line 12, field 'date' = \"2025-01-14\": a gap of 4 days after line 11 (2025-01-10): 3 rows missing"
    ]
    (found,) = wrong(rows(dates[:10] + dates[11:]))
    assert found.endswith("1 row missing")
    (found,) = wrong(rows(["2025-01-01 00:00", "2025-01-01 01:00", "2025-01-02 06:00"]))
    assert "a gap of 1.208 days after line 3 (2025-01-01 01:00)" in found


def test_weeks_apart_is_one_defect(wrong):
    assert wrong(rows(days(100)[::7])) == ["air.csv: field 'date': rows are 7 days apart; one a day or finer is needed"]


def test_dates_that_repeat_or_fall(wrong):
    (repeated,) = wrong(rows([*days(3), "2025-01-03", "2025-01-04"]))
    assert "line 5, field 'date' = \"2025-01-03\": the same as in line 4; of several a day give the times" in repeated
    (fallen,) = wrong(rows([*days(5), "2025-01-03", "2025-01-06"]))
    assert "line 7, field 'date' = \"2025-01-03\": earlier than line 6 (2025-01-05); dates must rise" in fallen
    assert wrong(rows(days(5)[::-1])) == [
        "air.csv: field 'date': dates fall from row to row; sort the table so that they rise"
    ]


def test_the_change_of_clocks_is_guessed(wrong):
    (back,) = wrong(rows([f"2025-10-26 {hour:02d}:00" for hour in (0, 1, 2, 2, 3, 4)]))
    (on,) = wrong(rows([f"2025-03-30 {hour:02d}:00" for hour in (0, 1, 3, 4, 5)]))
    assert all("offset from UTC behind the times" in one for one in (back, on))
    (mixed,) = wrong(rows(["2025-10-26 02:00+01:00", "2025-10-26 03:00"]))
    assert "behind every time or behind none" in mixed


def test_a_row_that_cannot_be_read_is_no_gap(wrong):
    text = rows(days(9))
    (unread,) = wrong(text.replace("2025-01-04", "4 Jan"))
    (wide,) = wrong(text.replace("2025-01-04,18", "2025-01-04,18,18"))
    assert ("no date" in unread, "4 cells" in wide) == (True, True)


@pytest.mark.parametrize(
    "bad",
    [
        "2025-1-1",
        "01.02.2025",
        "20250101",
        "2025-W01-1",
        "NaT",
        "0001-01-01",
    ],
)
def test_what_is_no_date(wrong, bad):
    (found,) = wrong(rows(["2025-01-01", bad]))
    assert f"line 3, field 'date' = \"{bad}\": no date" in found


@pytest.mark.parametrize(
    ("bad", "told"),
    [
        ("2025-02-30", "day"),
        ("2025-13-01", "day"),
        ("2025-02-29 06:00", "day"),
        ("2025-01-02 25:00", "time of the day"),
    ],
)
def test_what_is_no_day_of_the_calendar(wrong, bad, told):
    (found,) = wrong(rows(["2025-01-01", bad]))
    assert found == f"air.csv: line 3, field 'date' = \"{bad}\": there is no such {told}"


def test_the_ends_of_what_is_allowed_are_allowed(table, wrong):
    year = table(f"{HEAD}\n2025-01-01,-60,1.5\n2025-01-02,60,100")
    assert year.temperature.tolist() == pytest.approx([213.15, 333.15])
    beyond = wrong(f"{HEAD}\n2025-01-01,-60.01,50\n2025-01-02,20,100.01\n2025-01-03,60.01,50")
    assert [one.split(": ")[2] for one in beyond] == ["-60.01 °C", "100.01 %", "60.01 °C"]


def test_dates_out_of_order_leave_no_gaps(wrong):
    (fallen,) = wrong(rows(["2025-01-01", "2025-01-03", "2025-01-02"]))
    assert "earlier than line 3" in fallen
    (late,) = wrong(rows([*days(5), "2025-01-09", *days(4, date(2025, 1, 6))]))
    assert "earlier than line 7" in late


def test_shares_taken_for_per_cent(wrong, table):
    (found,) = wrong(rows(days(50), humidity="0.55"))
    assert (
        "field 'humidity': all values are wrong, 0.55 % to 0.55 %: no air of a room is so dry; a share of 1?" in found
    )
    assert "humidity [1]" in found
    (mixed,) = wrong(rows(days(50)).replace("2025-01-09,18,55", "2025-01-09,18,.55"))
    assert mixed.startswith("air.csv: line 10, field 'humidity': 0.55 %")
    text = rows(days(50), humidity="0.55").replace("humidity", "humidity [1]")
    assert table(text).humidity.tolist() == [0.55] * 50
    assert table(text.replace("2025-01-09,18,0.55", "2025-01-09,18,0.008")).humidity[8] == 0.008  # said to be a share
    (percents,) = wrong(text.replace("0.55", "55"))
    assert "all values are wrong, 55 to 55: allowed: 0 to 1" in percents


@pytest.mark.parametrize(("value", "told"), [("293", "in kelvin?"), ("68", "in Fahrenheit?"), ("-99.9", "allowed")])
def test_temperatures_in_another_unit(wrong, value, told):
    (found,) = wrong(rows(days(20), temperature=value))
    assert "field 'temperature': all values are wrong" in found
    assert told in found


@pytest.mark.parametrize(
    ("head", "told"),
    [
        ("date,temperature [%],humidity", ["'0 %' is a plain number; a temperature is needed"]),
        ("date,temperature,humidity [degC]", ["'0 degC' is a temperature; a share is needed"]),
        ("date,temperature [furlong],humidity", ["unit 'furlong' is not known"]),
        ("date,temperature,humidty", ["unknown column; did you mean 'humidity'?", "no column humidity"]),
        ("date,temperature", ["no column humidity"]),
        ("date,humidity,humidity", ["column given twice", "no column temperature"]),
        (
            "day,temp,RH",
            ["unknown column"] * 3 + ["no column date, temperature, humidity"],
        ),
        ("2025-01-01,20,55", ["unknown column"] * 3 + ["no column date, temperature, humidity"]),
        ("date\ttemperature\thumidity", ["columns are separated by tabs; separate them by commas or semicolons"]),
    ],
)
def test_wrong_headers(wrong, head, told):
    found = wrong(f"{head}\n2025-01-01,20,55")
    assert len(found) == len(told)
    for one, words in zip(found, told, strict=True):
        assert one.startswith("air.csv: line 1")
        assert words in one


def test_decimal_commas_between_commas(wrong):
    found = wrong(f"{HEAD}\n2025-01-01,20,5,55,0")
    assert found == [
        "air.csv: line 2: has 5 cells where the header has 3; decimal commas? then separate the columns by semicolons"
    ]


@pytest.mark.parametrize(
    ("data", "told"),
    [
        (b"", "is empty"),
        (b"\xef\xbb\xbf \n\n", "is empty"),
        (b"# nothing\n", "holds no rows"),
        (HEAD.encode(), "has a header and no rows"),
        (b"date,temperature,humidity\n2025-01-01,20,55\x00", "a sign that cannot be seen (U+0000) in line 2"),
        ("Temperatur °C".encode("latin-1"), "is not UTF-8 text"),
        (b'date,temperature,humidity\n2025-01-01,"20,55', "not readable as CSV"),
    ],
)
def test_what_is_no_table(wrong, data, told):
    (found,) = wrong(data)
    assert found.startswith("air.csv: ")
    assert told in found


def test_a_thousand_defects_are_enough(wrong):
    found = wrong(rows(days(3000), humidity="x"))
    assert "line 1001: 1000 defects up to here; what follows was not looked at" in found[0]
    assert found[-1] == "air.csv: and 901 more defects like these"


# -- names ---------------------------------------------------------------------------------------------------
@pytest.mark.parametrize("name", STATES)
def test_states_go_by_name(name, tmp_path):
    for base in (None, tmp_path):
        year = read_climate(name, base)
        assert (year.name, len(year), year.humidity[0]) == (name, 365, STATES[name].humidity)


def test_the_wave_goes_by_name_and_a_file_of_that_name_before_it(tmp_path):
    assert np.array_equal(read_climate("wave", tmp_path).humidity, default_year().humidity)
    (tmp_path / "wave").write_text(f"{HEAD}\n2025-01-01,20,55\n")
    assert len(read_climate("wave", tmp_path)) == 1
    assert climates()[0] == "wave"


def test_a_path_from_here(tmp_path):
    path = tmp_path / "elsewhere.csv"
    path.write_text(f"{HEAD}\n2025-01-01,20,55\n")
    assert read_climate(path).name == read_climate(str(path)).name == "elsewhere.csv"


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("damp-sumer", "no such file, and no climate of that name; did you mean 'damp-summer'?"),
        ("demo-yaer.csv", "did you mean 'demo-year.csv'?"),
        ("x", "known: wave, heated-dry-winter"),
        ("../demo-year.csv", "must lie beside the case"),
        ("", "names no climate"),
        ("below", "is a folder"),
    ],
)
def test_names_that_lead_nowhere(tmp_path, name, told):
    (tmp_path / "demo-year.csv").write_text(f"{HEAD}\n2025-01-01,20,55\n")
    (tmp_path / "below").mkdir()
    with pytest.raises(CaseProblem) as problem:
        read_climate(name, tmp_path)
    assert told in str(problem.value)


def test_links_stay_in_the_folder_of_the_case(tmp_path):
    case = tmp_path / "case"
    (case / "cl").mkdir(parents=True)
    for folder in (tmp_path, case):
        (folder / "air.csv").write_text(f"{HEAD}\n2025-01-01,20,55\n")
    (case / "cl" / "in.csv").symlink_to(case / "air.csv")
    (case / "cl" / "out.csv").symlink_to(tmp_path / "air.csv")
    (case / "away").symlink_to(tmp_path)
    (case / "dead.csv").symlink_to(case / "nothing.csv")
    (case / "round.csv").symlink_to(case / "round.csv")
    assert len(read_climate("cl/in.csv", case)) == 1
    (tmp_path / "same").symlink_to(case)
    assert len(read_climate("cl/in.csv", tmp_path / "same")) == 1
    for name, told in (
        ("cl/out.csv", "is a link that leads out of the folder of the case"),
        ("away/air.csv", "is a link that leads out of the folder of the case"),
        ("dead.csv", "is a link that leads to no file"),
        ("round.csv", "cannot be followed"),
    ):
        with pytest.raises(CaseProblem) as problem:
            read_climate(name, case)
        assert told in str(problem.value)
        assert "did you mean" not in str(problem.value)


def test_many_rows_take_seconds(table):
    # 60 000 rows stand for more: time grows with them; the guard is only against what grows faster.
    start, count = datetime(2024, 1, 1), 60_000
    lines = [f"{start + timedelta(minutes=i):%Y-%m-%d %H:%M},{15 + i % 7},{40 + i % 9}.5" for i in range(count)]
    year = table("\n".join([HEAD, *lines]))
    assert len(year) == count
    assert year.seconds[-1] == 60.0 * (count - 1)
    assert year.humidity[10] == pytest.approx(0.415)
