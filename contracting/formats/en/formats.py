"""English: the month by name, since 03/12/2026 is another day to half of the readers."""

SHORT_DATE_FORMAT = "M j, Y"
SHORT_DATETIME_FORMAT = "M j, Y, P"
