"""A port whose machine is written in a test: all but how it answers."""


class PlainLink:
    """What is written is answered in `out` at once; nothing ever waits or stops the line."""

    out = b""

    def read(self):
        """See Link."""
        data, self.out = self.out, b""
        return data

    def waiting(self):
        """See Link."""
        return 0

    def fell(self):
        """See Link."""
        return False

    def held(self):
        """See Link."""
        return False

    def urge(self, data):
        """See Link."""
        self.write(data)

    def restart(self):
        """See Link."""

    def let_go_on(self, drop):
        """See Link."""

    def close(self):
        """See Link."""
