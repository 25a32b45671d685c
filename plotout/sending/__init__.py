"""Sends files to machines: ports, flow control, journal, the line to virtual machines.

cutfile   a file cut into units (strokes) by its language; messages: what is sent of them; extent:
          how far it reaches
link      one open port, of whatever kind; settings: how; lock: one sender a port
talk      a conversation with a machine; hearing: what comes in, cut into lines
greet     who is there; trace: once round the work with the tool up; marking: where marks are
flow_control/  how much the machine can take now; a new way is one file and one line
journal   what was sent and what is known to be done, kept through a crash; now: to the message
sender    the loop that sends; exchange: what went out and what is known done; stalled: no endless
          wait; safe: tool up
recover   what is done, by what the machine says; find: where to go on after a break
run       a whole job; watch: what the user wants and is told
virtual/  the line to machines that are not there
"""
