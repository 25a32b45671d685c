"""The whole way from a set file to files that a machine can cut."""
