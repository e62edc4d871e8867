from django.apps import AppConfig


class QuotesConfig(AppConfig):
    name = "estimates.quotes"
    label = "quotes"

    def ready(self) -> None:
        from . import customer_page, first_page, measured_for, paper
        from .changes import first_page as changes_page
        from .changes import paper as change_paper
        from .changes.signing import CHANGE
        from .signing import papers
        from .signing.quotes import QUOTE

        customer_page.register()
        first_page.register()
        measured_for.register()
        paper.register()
        change_paper.register()
        papers.register(QUOTE)
        papers.register(CHANGE)
        changes_page.register()
