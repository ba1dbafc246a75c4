"""Models of what happens to a label between the printer and the photograph, each in its own small file.

Lengths are millimetres, angles degrees, and grey levels are proportional to reflectance (no tone curve). Axes of the
bench: x to the right, y down, z up towards the camera.

Modules:
    view: where the camera stands: rays and projection.
    surfaces: a label lying flat, or bent round a tube.
    light: uneven light, vignette, shading of a round surface.
    optics: defocus.
    sensor: noise and JPEG compression.
    bench: the mat that the labels lie on, and their shadows on it.
"""
