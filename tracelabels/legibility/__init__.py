"""Know that a label will read: the proof of a printed file, and the simulated camera that photographs it.

Modules:
    findings: what a check finds, as values.
    subject: a label under check: its picture and the symbol in it.
    samples: invented contents for a layout that is checked without a list.
    subjects: labels under check, cut out of our own pages or of a layout.
    rules: what standards and practice ask of a label, one rule or small family in each file.
    proof: the very file, rasterised at the printer's resolution, every code read back.
    cylinder: what a tube's curve alone does to a symbol, in closed form.
    grades: ISO/IEC 15415 and 15416 on a picture, indicative, not a verifier.
    camera: a small simulated camera: labels on a mat or round a tube, photographed.
    simulation: the camera's physics, one model in each file: surfaces, view, light, optics, sensor, bench.
"""
