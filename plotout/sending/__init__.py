"""Sending files to machines: ports, flow control, journal, the line to virtual machines.

cutfile   a file divided into units (strokes) by its language; messages: what is sent; extent: its
          reach
ports     names, finds and opens ports; link: an open one of any kind; settings: its settings; lock:
          one sender per port
talk      a conversation with a machine
greet     identify the machine; trace: once round the work with the tool up; marking: find marks
flow_control/  how much the machine can take now; a new method is one file and one line
journal   what was sent and is known to be done, kept through a crash; now: the same per message
answers   one for each line; in_turn: a machine that numbers and checks its lines, and answers none
          at once; expected: where that one should be
sender    sends the messages of a job; procedure, turn_by_turn: what else is done by the kind of
          machine; pushing: one message; exchange: what was sent and is known to be done; promises:
          what the journal says before; stalled: no endless wait; faults: what ends a job; safe:
          tool up
recover   what is done, by the machine's reports; find: where to resume after a break
run       a whole job; order: what is asked of it; watch: what the user wants, and messages to the
          user
virtual/  the line to virtual machines
"""
