"""Where snapshots live: a git repository, its lock, journal, history and disposable cache. Knows paths and bytes, not profiles."""
