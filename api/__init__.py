"""Every way in: REST, pages, health, problem documents."""
