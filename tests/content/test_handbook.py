"""The handbook's static pages: structure, reach, sources beside numbers, the same bytes each time."""

import functools
import re
from itertools import pairwise
from math import asin, degrees, radians, sin, sqrt
from urllib.parse import urljoin, urlsplit

import pytest
from bs4 import BeautifulSoup

from pwa import templates
from pwa.build.handbook import book
from tests.helpers.trade import LOADED

PROCEDURES = {
    "make-safe-roadside", "reading-codes", "electrical-or-mechanical", "opening-without-losing-clocking",
    "cleaning-a-vane-pack", "closing-up", "calibrate-and-prove", "what-killed-the-turbo", "what-layby-is-not",
    "without-a-server", "kept",
}  # fmt: skip
GENERAL = {"causes", "codes", "torque", "clocking", "cautions", "sources"}
# A number with a unit that a person could act on.
NUMBER = re.compile(r"\d\s?(%|°|mm\b|m\b|ft\b|kPa\b|bar\b|psi\b|V\b|N·m|lb·ft|min\b|minutes\b)")


def made() -> dict[str, str]:
    jinja = templates.environment()
    return book.pages(LOADED, lambda name, context: jinja.get_template(name).render(context))


PATHS = [
    "/handbook/",
    *(f"/handbook/{key}.html" for key in sorted(GENERAL)),
    *(f"/handbook/procedures/{key}.html" for key in sorted(PROCEDURES)),
]


class Parsed(dict[str, BeautifulSoup]):
    """The pages by path, each parsed when it is first looked at."""

    def __missing__(self, path: str) -> BeautifulSoup:
        self[path] = BeautifulSoup(pages()[path], "html.parser")
        return self[path]


SOUP = Parsed()
pages = functools.cache(made)


def test_every_page_of_the_plan_is_there():
    assert sorted(pages()) == sorted(PATHS)


def test_the_same_content_gives_the_same_bytes():
    assert made() == pages()


@pytest.mark.parametrize("path", PATHS)
def test_a_page_holds_together(path):
    page = SOUP[path]
    assert page.html["lang"] == "en"
    assert page.title.text.strip(" ·") != "Layby"
    assert len(page.select("h1")) == 1
    assert len(page.select("main")) == 1
    assert page.select_one("header nav")["aria-label"]
    assert len({item["id"] for item in page.select("[id]")}) == len(page.select("[id]"))
    for table in page.select("main table"):
        assert table.select("th[scope]"), path
    for picture in page.select("main svg"):
        assert picture["role"] == "img"
        assert picture["aria-label"]
    for field in page.select("input:not([type=hidden]), select, textarea"):
        assert page.select_one(f"label[for='{field.get('id')}']"), field


@pytest.mark.parametrize("path", PATHS)
def test_headings_leave_no_level_out(path):
    levels = [int(item.name[1]) for item in SOUP[path].select("main h1, main h2, main h3, main h4")]
    assert levels[0] == 1
    assert all(later - earlier <= 1 for earlier, later in pairwise(levels))


@pytest.mark.parametrize("path", PATHS)
def test_nothing_comes_from_outside_and_every_link_leads_somewhere(path):
    assert "http://" not in pages()[path]
    assert "https://" not in pages()[path]
    for link in SOUP[path].select("main a[href]"):
        target = urlsplit(urljoin(path, link["href"]))
        if target.path.startswith("/handbook/"):
            assert target.path in PATHS, link["href"]
            assert not target.fragment or SOUP[target.path].select(f"[id='{target.fragment}']"), link["href"]
        else:
            sheets = {"/worksheets", "/worksheets/order", "/licences.html"} | {
                f"/worksheets/{measure.key}" for measure in LOADED.measures
            }
            assert target.path in sheets, link["href"]


def test_every_page_is_reached_from_the_index():
    linked = {link["href"] for link in SOUP["/handbook/"].select("main a")}
    assert linked == set(PATHS) - {"/handbook/"} | {"/worksheets", "/licences.html"}


@pytest.mark.parametrize("path", PATHS)
def test_a_page_with_numbers_names_their_source(path):
    main = SOUP[path].main
    if path == "/handbook/sources.html" or not NUMBER.search(main.text):
        return
    texts = [source.text for source in LOADED.sources.values()]
    assert any(text in main.text for text in texts), path


@pytest.mark.parametrize(
    "path", ["/handbook/torque.html", "/handbook/clocking.html", "/handbook/cautions.html"]
)
def test_every_paragraph_with_a_number_has_its_source_in_reach(path):
    """In the paragraph itself, or in the section or list around it."""
    texts = [source.text for source in LOADED.sources.values()]
    for item in SOUP[path].select("main p, main li, main td"):
        if NUMBER.search(item.text):
            near = item.find_parent("section") or item
            assert any(text in near.text for text in texts), item.text


@pytest.mark.parametrize("key", sorted(PROCEDURES))
def test_a_procedure_starts_with_its_cautions_and_ends_deferring(key):
    page = SOUP[f"/handbook/procedures/{key}.html"]
    procedure = next(item for item in LOADED.procedures if item.key == key)
    linked = [link["href"].split("#")[1] for link in page.select("main section.caution a")]
    assert linked == procedure.cautions
    assert "the maker's service information come first" in page.main.text
    for source in procedure.sources:
        assert LOADED.sources[source].text in page.main.text


def test_every_caution_stands_with_hazard_and_source_in_working_order():
    sections = SOUP["/handbook/cautions.html"].select("section.caution")
    assert [item["id"] for item in sections] == [item.key for item in LOADED.cautions]
    for section, caution in zip(sections, LOADED.cautions, strict=True):
        assert section.strong.text == caution.hazard
        assert LOADED.sources[caution.sources[0]].text in section.text


def test_each_distance_shows_its_law_and_day_and_where_none_may_be_placed():
    """Against the published text: 49 CFR 392.22(b): 10, 100 and 200 ft on a divided road."""
    rows = {row.th.text: row.td.text for row in SOUP["/handbook/cautions.html"].select("#roadside tr")}
    divided = rows["United States, divided or one-way road"]
    for words in ("10 ft", "100 ft", "200 ft", "49 CFR 392.22", "2026-11-25"):
        assert words in divided
    none = [place for place, text in rows.items() if text.startswith("Place none.")]
    assert none == ["Great Britain, motorway", "Hong Kong, expressway or high-speed road"]


def test_feet_and_metres_of_each_distance_agree():
    """1 ft = 0.3048 m exactly (NIST SP 811); the law's own rounding is within 10 %."""
    roadside = next(item for item in LOADED.cautions if item.key == "roadside")
    text = " ".join(f"{item.place} {item.rule}" for item in roadside.distances)
    pairs = re.findall(r"(\d+) m \((\d+) ft\)", text)
    assert len(pairs) >= 7
    for metres, feet in pairs:
        assert float(metres) == pytest.approx(float(feet) * 0.3048, rel=0.1)


def test_every_code_stands_in_its_table_in_the_order_of_its_number():
    page = SOUP["/handbook/codes.html"]
    for name, table in (("fmi", LOADED.codes.fmi), ("spn", LOADED.codes.spn), ("dtc", LOADED.codes.dtc)):
        keys = [head.text for head in page.select(f"#{name} tbody th")]
        assert set(keys) == set(table)
        assert keys == sorted(keys, key=lambda key: (int(key), "") if key.isdigit() else (0, key))


def test_a_code_names_its_own_source_or_that_of_its_table():
    page = SOUP["/handbook/codes.html"]
    for name in ("fmi", "spn", "dtc", "pairs"):
        shared = page.select_one(f"#{name} .hint").text
        for key, code in getattr(LOADED.codes, name).items():
            row = page.select_one(f"[id='{name}-{key}']")
            own = row.small.text if row.small else shared
            assert own.startswith(LOADED.sources[code.source].text), key


def test_the_extension_rule_carries_a_right_worked_example():
    """50 N·m with 400 mm and 50 mm in line: 50 · 400 / 450, the formula of TM 1-1500-204-23-9."""
    text = SOUP["/handbook/torque.html"].main.text
    assert "T · L / (L + E · cos θ)" in text
    assert f"set {50 * 400 / 450:.1f} N·m" in text


def test_orders_go_across_and_name_every_bolt_once():
    for figure in SOUP["/handbook/torque.html"].select("figure"):
        count = int(figure.figcaption.text.split()[0])
        bolts = {int(bolt.text): bolt["transform"] for bolt in figure.select("g")}
        assert sorted(bolts) == list(range(1, count + 1))
        first, second = ([float(part) for part in re.findall(r"-?[\d.]+", bolts[turn])] for turn in (1, 2))
        assert first[0] * second[0] + first[1] * second[1] < 0, "the second bolt is across from the first"


def test_the_perspective_figure_follows_from_its_own_formula():
    """Radius 100 mm from 600 mm at 40°: e = r/D sin t; one mark is off by up to 2 asin((1-k)/(1+k))."""
    e = 100 / 600 * sin(radians(40))
    k = sqrt((1 - e) / (1 + e))
    assert f"up to {degrees(2 * asin((1 - k) / (1 + k))):.1f}°" in SOUP["/handbook/clocking.html"].main.text


def test_the_luck_figures_of_an_intermittent_fault_are_right():
    """Success-run formula: the fewest n with 0.8^n <= 5 %, and 0.8 to the third."""
    text = SOUP["/handbook/procedures/calibrate-and-prove.html"].main.text
    fewest = next(n for n in range(1, 100) if 0.8**n <= 0.05)
    assert f"{fewest} clean drives" in text
    assert f"{0.8**3:.0%}".replace("%", " %") in text


def test_every_joint_has_its_guide_and_both_parts_named():
    text = SOUP["/handbook/clocking.html"].main.text
    for joint in LOADED.joints:
        steps = [step.text for step in joint.guide]
        for words in (joint.name, joint.why, joint.fixed, joint.moving, joint.rim, joint.centre, *steps):
            assert words in text
    assert {item.key for item in LOADED.joints} >= {
        "turbine-housing", "compressor-housing", "clamp-gap", "actuator-bracket", "drain-direction", "pipes",
    }  # fmt: skip


def test_no_torque_is_given_for_any_place():
    """A maker's value is entered by the shop with its source, never shipped."""
    for item in LOADED.fasteners:
        assert not re.search(r"\d+\s?(N·m|Nm|lb)", item.text), item.key
