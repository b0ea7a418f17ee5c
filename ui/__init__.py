"""The app, the command line, the store and papers: the only part that sees both pixels and boards."""
