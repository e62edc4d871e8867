"""A kind of document that only the tests know."""

import pytest

from contracting.documents import registry

SNAPSHOT = {"company": {"name": "Invented Tile"}, "title": "Plan of the hall bath", "rows": [1, 2, 3]}


@pytest.fixture(autouse=True)
def _kind(settings, tmp_path, monkeypatch):
    """Register ``sample``, with its template, and keep its files apart."""
    settings.MEDIA_ROOT = tmp_path / "media"
    monkeypatch.setattr(registry, "_renderers", {})
    registry.register(
        "sample",
        template="documents/sample_for_tests.html",
        context=lambda snapshot: dict(snapshot),
        filename=lambda snapshot: f"{snapshot['title']}.pdf",
    )
    folder = tmp_path / "templates" / "documents"
    folder.mkdir(parents=True)
    folder.joinpath("sample_for_tests.html").write_text(
        '{% extends "documents/paper.html" %}{% block title %}{{ title }}{% endblock %}'
        "{% block content %}<h1>{{ title }}</h1>{% for n in rows %}<p>{{ n }}</p>{% endfor %}"
        "{{ more|safe }}{% endblock %}"
    )
    templates = [dict(settings.TEMPLATES[0])]
    templates[0]["DIRS"] = [*templates[0]["DIRS"], folder.parent]
    settings.TEMPLATES = templates
