"""Models of what happens to a label between the printer and the photograph, each in its own small file.

Lengths are millimetres, angles degrees, and grey levels are proportional to reflectance (no tone curve). Axes of the
bench: x to the right, y down, z up towards the camera.

Modules:
    view: where the camera stands: rays and projection.
    surfaces: a label lying flat, or bent round a tube.
    light: uneven light, vignette, shading of a round surface.
    optics: defocus.
    sensor: noise and JPEG compression.
    dot_gain: ink that spreads at every edge.
    dots: dots that the printer loses, and specks.
    ribbon: dead dots of the print head, a wrinkled ribbon.
    ageing: darker stock, paler ink, blotches.
    film: a label on a slightly buckled film.
    glare: a highlight that washes out a part of the symbol.
    motion: motion blur.
    shadow_edge: a hard shadow across the symbol.
    bench: the mat that the labels lie on, and their shadows on it.
"""
