"""Ordinary exports in many styles are read as what was done: no rule for strange files may hurt a plain one.

Each file is drawn from a seed: an invented log with known truth, written in one language, order of columns,
delimiter, decimal mark, date format, place of the unit and layout, with columns as plain logs have them.
"""

import csv
import io
from dataclasses import dataclass, replace
from datetime import date, timedelta
from random import Random

import pytest

from analytics.catalogue import load_catalogue
from analytics.intake import read_folder
from analytics.schema import KG_PER_LB

FILES = 240
BODYWEIGHT_KG = 80.0
CATALOGUE = {entry.name: entry for entry in load_catalogue().exercises.values()}
LIFTS = {
    "Back squat": 100.0,
    "Bench press": 70.0,
    "Barbell row": 60.0,
    "Lateral raise": 7.5,
    "Dumbbell curl": 12.5,
    "Leg press": 160.0,
    "Romanian deadlift": 90.0,
}
BODY, HOLD, SIDED = "Dip", "Plank", "Bulgarian split squat"
KEYS = "date exercise set load reps rest note sets seconds role side workout done work"
WORDS = {
    "en": "Date Exercise Set Weight Reps Rest Notes Sets Seconds Type Side Workout Done Work",
    "de": "Datum Übung Satz Gewicht Wdh. Pause Notiz Sätze Sekunden Satzart Seite Training Erledigt Leistung",
    "es": "Fecha Ejercicio Serie Peso Reps Descanso Notas Series Segundos Tipo Lado Sesión Hecho Trabajo",
    "fr": "Date Exercice Série Charge Reps Repos Remarques Séries Secondes Type Côté Séance Fait Travail",
    "it": "Data Esercizio Serie Carico Rip. Recupero Note Serie Secondi Tipo Lato Allenamento Fatto Lavoro",
    "pt": "Data Exercício Série Carga Reps Descanso Obs Séries Segundos Tipo Lado Treino Feito Trabalho",
    "nl": "Datum Oefening Set Gewicht Herh. Rust Opmerking Sets Seconden Soort Kant Training Klaar Resultaat",
}
NOTES = ("felt good", "hard", "bar 20 kg", "3 s down", "form ok, go up", "2nd rep shaky", "not to failure")
DATES = ("%Y-%m-%d", "%Y/%m/%d", "%Y-%m-%d 18:05", "%Y-%m-%dT18:05:00Z", "%d.%m.%Y", "%d/%m/%Y", "%m/%d/%Y")
UNAMBIGUOUS = 4  # of the dates above
SPARE = {
    "Exercise #": lambda one, place: str(place),
    "Exercise No": lambda one, place: str(place),
    "Order": lambda one, place: str(place),
    "Category": lambda one, place: ("Legs", "Chest", "Back")[len(one.lift) % 3],
    "Type": lambda one, place: ("Back", "Chest")[len(one.lift) % 2],
    "Group": lambda one, place: ("Legs", "Upper back")[len(one.lift) % 2],
    "Equipment": lambda one, place: "" if one.lift in (BODY, HOLD) else "Gym",
    "Duration": lambda one, place: f"{45 + one.day.day} min",
    "Bodyweight (kg)": lambda one, place: "80.5",
    "Volume": lambda one, place: f"{(one.load or 0) * (one.reps or 0):g}",
    "Est. 1RM": lambda one, place: f"{(one.load or 0) * 1.2:.1f}",
    "Target reps": lambda one, place: "8-12",
    "Target RPE": lambda one, place: "8",
    "Week": lambda one, place: "3",
    "Day": lambda one, place: one.day.strftime("%a"),
    "Rating": lambda one, place: "4",
    "Previous": lambda one, place: f"{one.load or 0:g}x{one.reps or 8}",
    "Tempo": lambda one, place: "3010",
    "Distance": lambda one, place: "0",
}


@dataclass(frozen=True)
class Set:
    """One set as it was done; `load` in the unit of the file, added where the lift moves the body."""

    lift: str
    load: float | None
    reps: int | None
    role: str = "working"
    seconds: int | None = None
    day: date = date.min
    rir: float | None = None
    rest: int | None = None
    side: str | None = None
    note: str = ""


@dataclass(frozen=True, kw_only=True)
class Style:
    """How one file is written."""

    words: dict[str, str]
    unit: str
    place: str
    delimiter: str
    comma: bool
    dates: str
    effort: str | None
    body: str

    def number(self, value):
        text = "" if value is None else f"{value:g}"
        return text.replace(".", ",") if self.comma else text

    def load(self, one):
        if one.lift == BODY and not one.load:
            return self.body
        return self.number(one.load) + (f" {self.unit}" if self.place == "cell" and one.load else "")

    @property
    def in_header(self):
        return f" ({self.unit})" if self.place == "header" else ""

    @property
    def beside(self):
        return self.place == "column"

    def effort_of(self, one):
        return "" if one.rir is None else self.number(one.rir if self.effort == "RIR" else 10 - one.rir)

    def reps(self, one):
        return f"{one.seconds} s" if one.reps is None else str(one.reps)

    def text(self, lines):
        out = io.StringIO()
        csv.writer(out, delimiter=self.delimiter, lineterminator="\n").writerows(lines)
        return out.getvalue()


def log(dice, unit, effort):
    """The sets of one athlete: few or many days, warm-ups, work, drops and back-offs, or one set a lift."""
    step = 2.5 if unit == "kg" else 5.0
    alone, sided = dice.random() < 0.25, dice.random() < 0.3
    day, sets = date(2026, dice.randint(1, 6), dice.randint(1, 28)), []
    lifts = dice.sample(sorted(LIFTS), dice.randint(2, 5))
    lifts += dice.sample((BODY, HOLD, SIDED), dice.randint(0, 2))
    for _ in range(dice.choice((1, 2, 4, 9))):
        for lift in dice.sample(lifts, dice.randint(1, len(lifts))):
            for plain in sets_of(dice, lift, step, alone):
                rir = dice.choice((0, 1, 2, 2.5, None)) if effort and plain.role != "warm_up" else None
                rest, noted = dice.choice((90, 120, None)), dice.random() < 0.15
                one = replace(plain, day=day, rir=rir, rest=rest, note=dice.choice(NOTES) if noted else "")
                both = sided and lift == SIDED
                sets += [replace(one, side=side) for side in ("left", "right")] if both else [one]
        day += timedelta(days=dice.choice((1, 2, 3)))
    return sets


def sets_of(dice, lift, step, alone):
    reps, count = dice.choice((3, 5, 8, 10, 12)), 1 if alone else dice.randint(1, 4)
    if lift == HOLD:
        return [Set(lift, None, None, seconds=30)] * count
    if lift == BODY:
        return [Set(lift, dice.choice((0, 2 * step)), reps)] * count
    top = round(LIFTS.get(lift, 20.0) / 2.5) * step
    work = [Set(lift, top, reps - (i > 1)) for i in range(count)]
    if alone or lift == SIDED:
        return work
    light = [max(step, step * round(top * share / step)) for share in (0.4, 0.6, 0.8)]
    warm = [Set(lift, load, 10, "warm_up") for load in light[: dice.randint(0, 3)]]
    after = dice.choice(("drop", "back_off", None))
    return warm + work + ([Set(lift, light[2], reps + 2, after)] if after else [])


def export(seed):
    """(text of the file, the sets it tells in order, its style) of one athlete."""
    dice = Random(seed)
    unit, effort = dice.choice(("kg", "kg", "lb")), dice.choice((None, "RIR", "RPE"))
    sets = log(dice, unit, effort)
    language = dice.choice(sorted(WORDS))
    comma = language != "en" and dice.random() < 0.6
    decides = any(one.day.day > 12 for one in sets)
    style = Style(
        words=dict(zip(KEYS.split(), WORDS[language].split(), strict=True)),
        unit=unit,
        place=dice.choice(("header", "cell", "column", "roster")),
        delimiter=dice.choice(";\t" if comma else ",;\t|"),
        comma=comma,
        dates=dice.choice(DATES if decides else DATES[:UNAMBIGUOUS]),
        effort=effort,
        body=dice.choice(("", "BW", "0", "-")),
    )
    write = dice.choice((as_rows, as_rows, as_rows, per_exercise, in_shorthand, wide, in_blocks, as_diary))
    text, told = write(dice, sets, style)
    return text, told, style


def as_rows(dice, sets, style):
    words, told = style.words, list(sets)
    columns = {
        words["date"]: [one.day.strftime(style.dates) for one in sets],
        words["exercise"]: [one.lift for one in sets],
    }
    if dice.random() < 0.6:
        columns[words["set"]] = numbered(sets, again=dice.random() < 0.3)
    columns[words["load"] + style.in_header] = [style.load(one) for one in sets]
    if style.beside:
        columns["Unit"] = [style.unit] * len(sets)
    if dice.random() < 0.5:
        columns[words["seconds"]] = [str(one.seconds or "") for one in sets]
        columns[words["reps"]] = [str(one.reps or "") for one in sets]
    else:
        columns[words["reps"]] = [style.reps(one) for one in sets]
    if style.effort:
        columns[style.effort] = [style.effort_of(one) for one in sets]
    if any(one.side for one in sets):
        columns[words["side"]] = [one.side or "" for one in sets]
    if dice.random() < 0.4:
        columns[words["rest"]] = [str(one.rest or "") for one in sets]
    else:
        told = [replace(one, rest=None) for one in told]
    if dice.random() < 0.4:
        columns[words["note"]] = [one.note for one in sets]
    if dice.random() < 0.3:
        columns[words["workout"]] = [("Push", "Day 2")[one.day.day % 2] for one in sets]
    if dice.random() < 0.3:
        kinds = {"warm_up": "W", "working": "", "drop": "Drop", "back_off": "Back-off"}
        columns[words["role"]] = [kinds[one.role] for one in sets]
    if dice.random() < 0.2:
        done = [dice.random() < 0.9 for _ in sets]
        columns[words["done"]] = ["1" if tick else "0" for tick in done]
        told = [one for one, tick in zip(told, done, strict=True) if tick]
    for name in dice.sample(sorted(SPARE), dice.choice((0, 0, 1, 3))):
        cells = [SPARE[name](one, at) for one, at in zip(sets, places(sets), strict=True)]
        columns.setdefault(name, cells)
    order = list(columns)
    if dice.random() < 0.4:
        dice.shuffle(order)
    return style.text([order, *zip(*(columns[name] for name in order), strict=True)]), told


def places(sets):
    """The place of each set's exercise in its day, from 1."""
    seen = {}
    for one in sets:
        lifts = seen.setdefault(one.day, [])
        lifts += [] if one.lift in lifts else [one.lift]
    return [seen[one.day].index(one.lift) + 1 for one in sets]


def numbered(sets, *, again):
    """Numbers of the sets within exercise and day, begun `again` after warm-ups; both sides have one."""
    numbers, before = [], Set("", None, None)
    number = 0
    for one in sets:
        fresh = (before.day, before.lift) != (one.day, one.lift)
        if fresh or (again and before.role == "warm_up" != one.role):
            number = 0
        number += one.side != "right"
        numbers.append(str(number))
        before = one
    return numbers


def bare(sets):
    """The sets as layouts without columns for side, effort and rest tell them."""
    return [replace(one, side=None, rir=None, rest=None) for one in sets if one.side != "right"]


def grouped(sets, *, equal):
    """Sets of one exercise and day, or only `equal` neighbours among them."""
    groups = []
    for one in sets:
        key = (one.day, one.lift) + ((one.load, one.reps) if equal else ())
        if groups and groups[-1][0] == key:
            groups[-1][1].append(one)
        else:
            groups.append((key, [one]))
    return [group for _, group in groups]


def per_exercise(dice, sets, style):
    told, words = [one for one in bare(sets) if one.role == "working"], style.words
    header = [words["date"], words["exercise"], dice.choice((words["sets"], "# Sets")), words["reps"]]
    lines = [[*header, words["load"] + style.in_header, *["Unit"] * style.beside]]
    for group in grouped(told, equal=True):
        one = group[0]
        line = [one.day.strftime(style.dates), one.lift, f"{len(group)}x", style.reps(one), style.load(one)]
        lines.append(line + [style.unit] * style.beside)
    return style.text(lines), told


def shorthand(style, sets, form):
    items = []
    for group in grouped(sets, equal=True):
        one, count = group[0], len(group)
        load = style.number(one.load) + ("" if style.in_header and form == "at" else f" {style.unit}")
        if one.lift == BODY:
            load = f"BW+{load}" if one.load else "BW"
        if one.reps is None:
            items.append(f"{count}x{one.seconds}s")
        else:
            items += [f"{count}x{one.reps}@{load}"] if form == "at" else [f"{load}x{one.reps}"] * count
    return "; ".join(items)


def in_shorthand(dice, sets, style):
    told, form = bare(sets), dice.choice(("at", "each"))
    if max(one.load or 0 for one in told if one.lift != BODY) <= 10:
        form = "each"  # nothing tells 3x8@8 from an effort
    if style.delimiter == ",":
        style = replace(style, delimiter=";")
    words = style.words
    lines = [[words["date"], words["exercise"], words["work"] + style.in_header]]
    for group in grouped(told, equal=False):
        cell = shorthand(style, group, form)
        lines.append([group[0].day.strftime(style.dates), group[0].lift, cell])
    return style.text(lines), told


def wide(dice, sets, style):
    told, words = bare(sets), style.words
    groups = grouped(told, equal=False)
    numbers = range(1, max(map(len, groups)) + 1)
    form = dice.choice(("{word} {n}{unit}", "Set {n} {word}{unit}"))
    header = [words["date"], words["exercise"], *["Unit"] * style.beside]
    for n in numbers:
        header += [form.format(word=words["load"], n=n, unit=style.in_header)]
        header += [form.format(word="Reps", n=n, unit="")]
    lines = [header]
    for group in groups:
        line = [group[0].day.strftime(style.dates), group[0].lift, *[style.unit] * style.beside]
        for one in group:
            line += [style.load(one), style.reps(one)]
        lines.append(line + [""] * (len(header) - len(line)))
    return style.text(lines), told


def in_blocks(dice, sets, style):
    told = [replace(one, side=None, rest=None) for one in sets if one.side != "right"]
    words, counts, once = style.words, dice.random() < 0.5, dice.random() < 0.3
    header = [*[words["set"]] * counts, words["load"] + style.in_header, words["reps"]]
    header += [*["Unit"] * style.beside, *([style.effort] if style.effort else [])]
    lines, day = [], None
    for group in grouped(told, equal=False):
        if group[0].day != day:
            lines += [[], [group[0].day.strftime(style.dates)], *([["Push"]] if dice.random() < 0.3 else [])]
        lines += [[group[0].lift], *([] if day and once else [header])]
        day = group[0].day
        for n, one in enumerate(group, 1):
            line = [*[str(n)] * counts, style.load(one), style.reps(one), *[style.unit] * style.beside]
            lines.append(line + ([style.effort_of(one)] if style.effort else []))
    return style.text(lines), told


def as_diary(dice, sets, style):
    told, form = bare(sets), dice.choice(("at", "each"))
    style = replace(style, place="cell")
    apart, lines, day = dice.choice((": ", " - ", " ", "\n")), [], None
    for group in grouped(told, equal=False):
        if group[0].day != day:
            day = group[0].day
            words = "" if "T" in style.dates else dice.choice(("", " Legs", " - Day 2"))
            lines += ["", day.strftime(style.dates) + words]
        lines.append(group[0].lift + apart + shorthand(style, group, form))
    return "\n".join(lines) + "\n", told


def expected(one, unit):
    entry = CATALOGUE[one.lift]
    load = None if one.load is None else one.load * (KG_PER_LB if unit == "lb" else 1.0)
    load = None if load is None else load + entry.bodyweight_share * BODYWEIGHT_KG
    return one.day, entry.id, load, one.reps, one.seconds, one.rir, one.side, one.rest


@pytest.fixture(scope="module")
def logs(tmp_path_factory):
    """(the exports by athlete, what was read of their folder)."""
    path = tmp_path_factory.mktemp("ordinary")
    made = {f"a{seed:03}": export(seed) for seed in range(FILES)}
    lines = ['[roster]\ntitle = "Harbour group"', f"[defaults]\nbodyweight_kg = {BODYWEIGHT_KG}"]
    for name, (text, _, style) in made.items():
        lines.append(f'[[athlete]]\nid = "{name}"\nname = "{name}"')
        lines += [f'unit = "{style.unit}"'] if style.place == "roster" else []
        target = path / "exports" / name / "log.csv"
        target.parent.mkdir(parents=True)
        target.write_text(text, encoding="utf-8")
    (path / "roster.toml").write_text("\n".join(lines), encoding="utf-8")
    return made, read_folder(path, date(2026, 11, 22))


def test_no_ordinary_file_is_refused_and_no_row_is_set_aside(logs):
    _, intake = logs
    assert [str(failure) for failure in intake.failures] == []
    assert intake.set_aside.select("source_file", "source_row", "cell", "reason").rows() == []


def test_every_set_is_read_as_it_was_done(logs):
    made, intake = logs
    columns = ("date", "exercise", "load_kg", "reps", "seconds", "rir", "side", "rest_s")
    rows = {}
    for row in intake.sets.sort("athlete", "date", "position", "set_number").iter_rows(named=True):
        rows.setdefault(row["athlete"], []).append(tuple(row[name] for name in columns))
    for name, (text, told, style) in made.items():
        want = [expected(one, style.unit) for one in told]
        got = rows.get(name, [])
        assert len(got) == len(want), text
        for one, other in zip(got, want, strict=True):
            assert one == pytest.approx(other, abs=1e-6), text


def test_no_kind_or_group_is_taken_for_a_role_or_a_superset(logs):
    made, intake = logs
    assert intake.sets["superset"].null_count() == intake.sets.height
    for row in intake.sets.filter(role_source="logged").iter_rows(named=True):
        text, _, style = made[row["athlete"]]
        assert style.words["role"] in text or "Drop" in text, text
