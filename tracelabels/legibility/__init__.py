"""Know that a label will read: the proof of a printed file, and the simulated camera that photographs it.

Modules:
    proof: the very file, rasterised at the printer's resolution, every code read back.
    camera: a small simulated camera: labels on a mat or round a tube, photographed.
    simulation: the camera's physics, one model in each file: surfaces, view, light, optics, sensor, bench.
"""
