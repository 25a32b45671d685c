"""Proof: files read back and compared with the intended work, pictures, and the proof page."""

from plotout.proof.readback import verify, verify_frames

__all__ = ["verify", "verify_frames"]
