"""Machines to try the sender against, written from published interface notes alone.

They share no code with plotout's sender; all but `lines` were written before their author had read
it. Their clock is an argument: they stand still until they are told that time has passed, so that a
trial may run them as fast as it likes.

Sources of those: the public interface notes of the most used open-source three-axis G-code
controller, version 1.1; Hewlett-Packard, Interfacing and Programming Manual, 7550A, 1984-86;
HP-GL/2 and HP RTL Reference Guide.
"""
