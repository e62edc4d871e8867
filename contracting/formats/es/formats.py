"""Spanish as it is written in North America: decimal point, the month by name, and hours to 24.

Django's Spanish is Spain's, whose 1.250 would be read here as one and a quarter. Source: Unicode CLDR, es_US
(from memory).
"""

SHORT_DATE_FORMAT = "j b Y"
SHORT_DATETIME_FORMAT = "j b Y, H:i"
MONTH_DAY_FORMAT = "j b"
DAY_TIME_FORMAT = "j b, H:i"
WEEKDAY_FORMAT = "D j b"
WEEKDAY_TIME_FORMAT = "D, H:i"
LONG_WEEKDAY_FORMAT = r"l j \d\e F"
DECIMAL_SEPARATOR = "."
THOUSAND_SEPARATOR = ","
NUMBER_GROUPING = 3
