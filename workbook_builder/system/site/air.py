"""The site: where the system stands and between which temperatures it lives."""

from workbook_builder.language.declare import Part
from workbook_builder.language.inputs import OPTIONAL, above
from workbook_builder.language.profile_rules import PLACES
from workbook_builder.language.sources import own_rule

chapter = Part(
    "site",
    "Site",
    "The two temperatures decide most: the coldest morning sets the highest voltage, the hottest afternoon the lowest.",
)

chapter.text("site_name", "Name of the site", blank=OPTIONAL, where="as the client calls it")
chapter.text("site_author", "Who fills this in", blank=OPTIONAL, where="name of the responsible person")
chapter.text("site_date", "Date of the design", blank=OPTIONAL, where="for example 2026-11-25")
chapter.text("site_note", "Note", blank=OPTIONAL, where="anything a reader should know")
chapter.number(
    "site_t_min",
    "°C",
    -60,
    35,
    "Lowest expected air temperature",
    where="extreme annual mean minimum of the nearest weather station, not an ordinary winter night",
)
chapter.number(
    "site_t_max",
    "°C",
    -10,
    60,
    "Highest expected air temperature",
    where="hottest afternoon of the nearest weather station",
    relations=(above("site_t_min", "the lowest"),),
)
chapter.choice(
    "site_place",
    PLACES,
    "Where the array stands",
    blank="dwelling",
    blank_source=own_rule("the place with the lowest voltage limit"),
    where="sets the voltage limit of the code",
)
