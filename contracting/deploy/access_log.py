"""Gunicorn's logs without the tokens of private links."""

from __future__ import annotations

from typing import Any

from gunicorn.glogging import Logger  # type: ignore[import-untyped]

from contracting.private_links import MaskPrivateLinks


class MaskedAccessLog(Logger):  # type: ignore[misc]
    """Gunicorn's own logs, which name every address and the page before it, with the tokens left out."""

    def setup(self, cfg: Any) -> None:
        super().setup(cfg)
        for logger in (self.access_log, self.error_log):
            logger.addFilter(MaskPrivateLinks())
