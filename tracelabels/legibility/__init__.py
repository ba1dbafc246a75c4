"""Know that a label will read: the proof of a printed file, and the simulated camera that photographs it.

Modules:
    findings: what a check finds, as values.
    subject: a label under check: its picture and the symbol in it.
    proof: the very file, rasterised at the printer's resolution, every code read back.
    cylinder: what a tube's curve alone does to a symbol, in closed form.
    camera: a small simulated camera: labels on a mat or round a tube, photographed.
    simulation: the camera's physics, one model in each file: surfaces, view, light, optics, sensor, bench.
"""
