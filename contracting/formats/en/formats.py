"""English as it is written in the United States: the month by name and first, hours to 12 with AM and PM.

The month is a word, since 03/12/2026 is another day to half of the readers. A time ends in no full stop, so
that a sentence may end in it. Names beside Django's own serve pages that print a day without its year.
"""

DATE_FORMAT = "F j, Y"
DATETIME_FORMAT = "F j, Y, g:i A"
SHORT_DATE_FORMAT = "M j, Y"
SHORT_DATETIME_FORMAT = "M j, Y, g:i A"
MONTH_DAY_FORMAT = "M j"
DAY_TIME_FORMAT = "M j, g:i A"
TIME_FORMAT = "g:i A"
WEEKDAY_FORMAT = "D M j"
WEEKDAY_TIME_FORMAT = "D, g:i A"
LONG_WEEKDAY_FORMAT = "l, F j"
