from django.apps import AppConfig


class InspectionsConfig(AppConfig):
    name = "jobs.inspections"
    label = "inspections"

    def ready(self) -> None:
        from contracting.documents import registry
        from contracting.staff import home
        from contracting.staff.policies import CREW
        from estimates.quotes.changes import followers as changes
        from jobs.photos import paper
        from jobs.work import followers
        from jobs.work.daily import listeners

        from . import papers, subjects
        from .holds import stops, stops_log
        from .selectors import waiting_section
        from .services import plan_follows_change, plan_from_job

        followers.when_made(plan_from_job)
        changes.when_signed(plan_follows_change)
        followers.before_moving(stops)
        listeners.before_logging(stops_log)
        subjects.add()

        registry.register(
            papers.KIND,
            template=papers.TEMPLATE,
            context=papers.paper_context,
            filename=papers.filename,
            stored=paper.picture,
        )
        home.register(home.Part(roles=CREW, order=25, section=waiting_section))
