"""Sends files to machines: ports, flow control, journal, virtual machines.

language  what a file is made of, and what a machine says, for HP-GL and for G-code
link      one open port, of whatever kind; lock: one sender a port
credit    how much the machine can take now (flow control)
journal   what was sent and what is known to be done, kept through a crash
sender    the loop that sends; recover: where to go on
virtual/  machines on pseudo-terminals
"""
