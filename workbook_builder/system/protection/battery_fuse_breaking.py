"""Breaking capacity of the battery fuse, against the short-circuit current of the bank."""

from workbook_builder.language.declare import Part
from workbook_builder.language.sources import common_practice
from workbook_builder.language.values import Value
from workbook_builder.language.verdicts import FAIL, NOT_JUDGED, PASS

chapter = Part("protection", continues=True)


@chapter.quantity(
    symbol="Isc,bat",
    unit="kA",
    label="Short-circuit current of the bank, estimated",
    words="Usual amperes for each ampere-hour of the chemistry, times the bank.",
    formula="battery_short_per_ah*battery_bank_ah/amperes_per_kiloampere",
    source=common_practice("makers' sheets come first; fresh and warm batteries give more than worn ones"),
)
def battery_short_ka(battery_short_per_ah: Value, battery_bank_ah: Value, amperes_per_kiloampere: Value) -> Value:
    return battery_short_per_ah * battery_bank_ah / amperes_per_kiloampere


chapter.limit(
    name="battery_fuse_breaking",
    safety=True,
    label="Breaking capacity of the battery fuse",
    words="The fuse must break the bank's short-circuit current, estimated.",
    value="battery_short_ka",
    at_most="battery_fuse_breaking",
    unless=(("battery_fuse_breaking", ""),),
    asks=("battery_fuse_breaking",),
    source=common_practice("rating and breaking capacity are two checks"),
    sentences={
        PASS: "The fuse breaks the estimated short-circuit current of the bank.",
        FAIL: "The fuse cannot break the bank's short-circuit current and may burst: choose one with a higher breaking "
        "capacity for direct current.",
        NOT_JUDGED: "Nobody can say whether the fuse breaks the short-circuit current of the bank. Choose one that breaks at least the value "
        "shown.",
    },
)
