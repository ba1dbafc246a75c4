"""Separator and decimal mark where the comma may be either, or both."""

import pytest

from tracelabels.cycles.log import LogOptions, read_log

DEGREES = [21, 34, 52, 75, 99, 118, 127, 131, 134, 134, 134, 134, 134, 134, 120, 99]
STEAM = [101, 101, 101, 101, 101, 186, 247, 278, 304, 304, 304, 304, 304, 304, 199, 101]
PAIRS = list(zip(DEGREES, STEAM, strict=True))
TENTHS = [f"{one},{(7 * place) % 10}" for place, one in enumerate(DEGREES)]

# name: lines; separator and decimal mark; temperatures; pressures in kPa, or None.
COMMAS = {
    "whole numbers, no header": (
        [f"{60 * at},{c},{p}" for at, (c, p) in enumerate(PAIRS)], ("comma", "."), DEGREES, STEAM,
    ),
    "whole numbers in quotes, no header": (
        [f'"{60 * at}","{c}","{p}"' for at, (c, p) in enumerate(PAIRS)], ("comma", "."), DEGREES, STEAM,
    ),
    "a phase of one digit in quotes, no header": (
        [f'"{60 * at}","{c}","{at % 10}"' for at, c in enumerate(DEGREES)], ("comma", "."), DEGREES, None,
    ),
    "minutes with decimals beside whole numbers": (
        ["Minuten,Temp °C,Phase", *(f"{at // 4},{at % 4 * 25:02d},{30 + 4 * at},{at // 2}" for at in range(16))],
        ("comma", ","), [30 + 4 * at for at in range(16)], None,
    ),
    "whole numbers below words that name no column": (
        ["Logger,X0", *(f"08:{at:02d}:00,{p * 10},{c + 273}" for at, (c, p) in enumerate(PAIRS))],
        ("comma", "."), [pytest.approx(c - 0.15) for c in DEGREES], STEAM,
    ),
    "one wide column of decimals beside whole numbers": (
        ["Zeit,T [K],P [MPa]", *(f"08:{at:02d}:00,{c + 273},0,{p * 10}" for at, (c, p) in enumerate(PAIRS))],
        ("comma", ","), [pytest.approx(c - 0.15) for c in DEGREES], STEAM,
    ),
    "another wide column of decimals beside whole numbers": (
        ["Zeit,P [MPa],T [K]", *(f"08:{at:02d}:00,0,{p * 10},{c + 273}" for at, (c, p) in enumerate(PAIRS))],
        ("comma", ","), [pytest.approx(c - 0.15) for c in DEGREES], STEAM,
    ),
    "tabs, with a blank between date and clock": (
        ["Zeit\tT [°C]\tPhase\tTür", *(f"2026-03-14 08:{at:02d}:00\t{c}\tP{at}\tzu" for at, c in enumerate(DEGREES))],
        ("tab", "."), DEGREES, None,
    ),
    "tenths, no header": (
        [f"08:{at:02d}:00,{c}" for at, c in enumerate(TENTHS)], ("comma", ","),
        [float(one.replace(",", ".")) for one in TENTHS], None,
    ),
    "tenths beside whole numbers under a header": (
        ["Zeit,Temperatur,Druck", *(f"08:{at:02d}:00,{TENTHS[at]},{STEAM[at]}" for at in range(16))],
        ("comma", ","), [float(one.replace(",", ".")) for one in TENTHS], STEAM,
    ),
    "thousandths of a bar that might be thousands": (
        ["s|T [°C]|P [bar abs]", *(f"{60 * at}|{c}|{p // 100},{p % 100:02d}0" for at, (c, p) in enumerate(PAIRS))],
        ("bar", ","), DEGREES, STEAM,
    ),
    "thousands in millibar": (
        ["s;T [°C];P [mbar abs]", *(f"{60 * at};{c}.0;{10 * p:,}" for at, (c, p) in enumerate(PAIRS))],
        ("semicolon", "."), DEGREES, STEAM,
    ),
    "thousands and tenths in millibar": (
        ["s;°C;mbar abs", *(f"{60 * at};{c},0;{p // 100}.{10 * p % 1000:03d},0" for at, (c, p) in enumerate(PAIRS))],
        ("semicolon", ","), DEGREES, STEAM,
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", COMMAS)
def test_a_comma_is_what_it_must_be(name):
    lines, marks, celsius, kpa = COMMAS[name]
    log = read_log("\n".join([*lines, ""]).encode(), LogOptions(), name="commas.csv")
    found = {guess.what: guess.value for guess in log.guesses}
    assert (found["separator"], found["decimal_mark"]) == marks
    assert log.readings.celsius.tolist() == celsius
    assert (log.readings.kpa is None) == (kpa is None)
    assert kpa is None or log.readings.kpa == pytest.approx(kpa, abs=0.051)


def test_options_settle_it():
    lines = [f"{60 * at},{c},{p}" for at, (c, p) in enumerate(PAIRS)]
    options = LogOptions(separator=",", decimal_mark=",", temperature_column="2", time_column="1")
    asked = read_log("\n".join(["s,T", *lines, ""]).encode(), options, name="asked.csv")
    assert asked.readings.celsius.tolist()[:3] == [21.101, 34.101, 52.101]
