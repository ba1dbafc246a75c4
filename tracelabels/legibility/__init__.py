"""Know that a label will read: the proof of a printed file, and the simulated camera that photographs it.

Modules:
    findings: what a check finds, as values.
    subject: a label under check: its picture and the symbol in it.
    grid_fit: the grid of a symbol in a clean picture, to a small part of a pixel.
    bar_fit: the bars of a linear symbol, the same way.
    recognition: which symbol a sampled matrix is.
    page_codes: the symbols of any PDF's page, found, read and measured.
    samples: invented contents for a layout that is checked without a list.
    subjects: labels under check, cut out of our own pages, of any other PDF, or of a layout.
    rules: what standards and practice ask of a label, one rule or small family in each file.
    reshaping: a label with its code in another shape.
    advice: the best layout, and the smallest change that turns a fail into a pass.
    run_rules: the rules over a whole run, one label for each design.
    report: the report of a check, as a page or on paper.
    proof: the very file, rasterised at the printer's resolution, every code read back.
    cylinder: what a tube's curve alone does to a symbol, in closed form.
    grades: ISO/IEC 15415 and 15416 on a picture, indicative, not a verifier.
    camera: a small simulated camera: labels on a mat or round a tube, photographed.
    condition: everything that decides whether one photograph reads, as named factors with units and ranges.
    envelope: within what a practice wants its labels to read.
    specimen: the part of a label that is simulated: the symbol with its quiet zone.
    snapshot: a fast simulated photograph of one symbol, from the press to the file.
    trial: does the plain reader still say the right text?
    margins: for each factor the value at which reading fails.
    joint: how often it reads when all factors vary at once.
    evidence: when enough trials were made to tell a good label from a bad one.
    judgement: pass, warn or fail within the envelope.
    wording: what the trials found, in words.
    simulation: the physics, one model in each file: press, ageing, surfaces, view, light, optics, sensor.
"""
