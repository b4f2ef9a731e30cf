"""The words by which the sheet Proof says what it found."""

AGREES, DIFFERS = "agrees", "differs"
CALCULATES, MISCALCULATES = "calculates correctly", "does not calculate correctly"
GOOD = "This program recalculates every example and every function below as it should."
BAD = "line(s) below do not agree: believe no figure of this workbook here, and open it in another spreadsheet program."
# the handshake: what its answer says while nothing, or no number, is typed
HANDSHAKE_BLANK = "Type any number in the framed cell: an answer must follow at once."
HANDSHAKE_TEXT = "That is not a number: type digits only."
HANDSHAKE_BEFORE, HANDSHAKE_AFTER = "It follows: your number plus one is ", "."
