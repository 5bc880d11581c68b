"""The use cases: only here do clock, ids, store and pack meet the judging."""
