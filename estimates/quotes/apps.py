from django.apps import AppConfig


class QuotesConfig(AppConfig):
    name = "estimates.quotes"
    label = "quotes"

    def ready(self) -> None:
        from . import first_page, paper
        from .changes import first_page as changes_page
        from .changes import paper as change_paper
        from .signing import paper as signed_paper

        first_page.register()
        paper.register()
        signed_paper.register()
        change_paper.register()
        changes_page.register()
