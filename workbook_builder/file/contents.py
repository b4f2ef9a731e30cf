"""By what a workbook of this package is known again when it comes back: its sheets, their layout, the names of its facts."""

# in the order in which they stand
SHEETS = (
    "Start",
    "Entries",
    "Verdicts",
    "Installation",
    "Checklist",
    "Commissioning",
    "Power",
    "Arrangements",
    "Loads",
    "Battery",
    "Energy",
    "Cables",
    "Protection",
    "Enclosure",
    "Working",
    "Curve",
    "Diagnosis",
    "Rows",
    "Tables",
    "Proof",
    "Sources",
)
# before "entry_column" and "key_column" in the names of the columns in which lines of entries are typed
LINES = ("", "roof_", "handed_")
# raised when the way in which entries are found changes
LAYOUT = "1"
# names of cells on the sheet Start, and of both verdicts
PROFILE, VERSION, SCHEMA, FIGURES, BUILD = "meta_profile", "meta_version", "meta_schema", "meta_figures", "meta_build"
VERDICTS = ("verdict_match", "verdict")
