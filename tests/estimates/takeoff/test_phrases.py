"""Sentences of the takeoff in the reader's language, with the names of surfaces inside them."""

import pytest
from django.utils import translation
from django.utils.translation import gettext

from estimates.takeoff.phrases import phrase


@pytest.mark.parametrize(
    ("said", "spanish"),
    [
        (phrase("{surface}, top", surface="Curb"), "Sardinel, arriba"),
        (
            phrase("{activity}: {surface}", activity=phrase("Prepare the substrate"), surface="Floor"),
            "Preparar el sustrato: Piso",
        ),
        # What somebody made up is no word of the catalogue, and neither is a room.
        (phrase("{surface}, top", surface="Grandma's bench"), "Grandma's bench, arriba"),
        (phrase("Plan of {room}", room="Floor"), "Plano de Floor"),
        (phrase("{surface}, top", surface=""), ", arriba"),
        (phrase(""), ""),
    ],
)
def test_the_usual_names_of_surfaces_are_said_in_the_readers_language(said, spanish):
    with translation.override("es"):
        assert said.render(gettext) == spanish
    assert "Floor" in str(phrase("{activity}: {surface}", activity="Tile", surface="Floor"))
