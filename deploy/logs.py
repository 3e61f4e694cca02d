"""Logging: one JSON object a line, with the request id, on standard error."""

from typing import Any

import structlog

SHARED: list[Any] = [
    structlog.contextvars.merge_contextvars,
    structlog.stdlib.add_log_level,
    structlog.processors.TimeStamper(fmt="iso", utc=True),
    structlog.processors.format_exc_info,
]


def configure(level: int) -> dict[str, Any]:
    """Set structlog up and return Django's LOGGING dictionary for the given level."""
    structlog.configure(
        processors=[*SHARED, structlog.stdlib.ProcessorFormatter.wrap_for_formatter],
        logger_factory=structlog.stdlib.LoggerFactory(),
        cache_logger_on_first_use=True,
    )
    return {
        "version": 1,
        "disable_existing_loggers": False,
        "formatters": {
            "json": {
                "()": structlog.stdlib.ProcessorFormatter,
                "processor": structlog.processors.JSONRenderer(),
                "foreign_pre_chain": SHARED,
            }
        },
        "handlers": {"stderr": {"class": "logging.StreamHandler", "formatter": "json"}},
        "root": {"handlers": ["stderr"], "level": level},
        # The maker of paper tells its steps and each rule of style that is for the screen alone; that is no news.
        "loggers": {"weasyprint": {"level": "ERROR"}},
    }
