"""What is dark at a photograph's edge, seen by half."""

import numpy as np
import render
from against import score
from plotout_photo.shot import take
from plotout_photo.survey import survey


def test_a_spot_that_would_lie_beyond_the_edge_is_none(tmp_path):
    """A hole fitted to something cut off by the edge came out 3 pixels beyond it."""
    scene = render.scene(9407)
    rng = np.random.default_rng(9412)
    azimuth, tilt = rng.uniform(0, 360), rng.uniform(0, 35)
    camera = render.camera(rng, tilt=tilt, azimuth=azimuth + rng.uniform(-20, 20),
                           aim=rng.uniform(-15, 15, 2), reach=rng.uniform(900, 960))  # fmt: skip
    path = tmp_path / "sheet.jpg"
    path.write_bytes(render.photograph(scene, camera, blur=rng.uniform(0.6, 1.1)))
    at = take(path, None, 0.0).sheet.found.at
    assert ((at >= 0.0) & (at <= np.array([3999, 2999]))).all()
    assert score(scene, survey([path])).found > 0.99
