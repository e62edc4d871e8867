"""Spanish as it is written in North America: decimal point, and the month by name.

Django's Spanish is Spain's, whose 1.250 would be read here as one and a quarter. Source: Unicode CLDR, es_US
(from memory).
"""

SHORT_DATE_FORMAT = "j M Y"
SHORT_DATETIME_FORMAT = "j M Y, H:i"
DECIMAL_SEPARATOR = "."
THOUSAND_SEPARATOR = ","
NUMBER_GROUPING = 3
