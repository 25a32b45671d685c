"""Sends files to machines: ports, flow control, journal, virtual machines."""
