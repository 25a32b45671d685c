"""What the tests of the SVG reader share."""

from plotout_svg.read import read

from plotout import Role

NS = 'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink"'
MM = 'width="200mm" height="100mm" viewBox="0 0 200 100"'
RECT = '<rect id="a" x="10" y="20" width="30" height="40"/>'


def outline(path, selector="#a", **more):
    (shape,) = [s for s in read(path, {"outline": selector, **more}).shapes
                if s.role is Role.OUTLINE]  # fmt: skip
    return shape.points
