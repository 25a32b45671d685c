"""Sends files to machines: ports, flow control, journal, virtual machines.

language/ what a file is made of, and what a machine says: HP-GL, G-code; encoded: HP-GL/2's PE
cutfile   a file cut into units (strokes); parts: what is sent of them; extent: how far it reaches
link      one open port, of whatever kind; lock: one sender a port
greet     who is there; trace: once round the work with the tool up; marking: where marks are
credit    how much the machine can take now (flow control)
journal   what was sent and what is known to be done, kept through a crash
sender    the loop that sends; exchange: what went out and what is known done; safe: tool up
recover   where to go on after a break
run       a whole job; watch: what the user wants and is told
virtual/  machines on pseudo-terminals
"""
