"""The purchase list as a page: what to buy by supplier, what is ordered, what came, what is still to come."""
