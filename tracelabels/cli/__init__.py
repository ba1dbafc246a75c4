"""The command line: thin, one module per command group; it speaks to workflows only.

Modules:
    root: the list of commands, each loaded when it is called, and errors turned into exit codes.
    options: options that many commands share, handed to a command as one value; dates and numbers typed by people.
    answers: JSON Lines on standard output, words and progress on standard error.
    chain_json: what is on record beside a chain, as JSON.
    demo, new, identify, labels, check, scan, bench, packing, look, tracing, recalling, stock, keeping: the commands.
    consumables, steriliser, loads, decisions, due: lots; the steriliser, its loads; decisions, holds; what is due.
    log_options: what people say about a logger's file.
    lethality, readings, load_reports: logs computed, judged and recorded; pages for the inspector's folder.
    chair_options: what is typed at the chair: labels, what was seen, what is personal.
    chair, using, clients, reporting: the gate and what is recorded at the chair; clients; incidents, adverse events.
    correcting, privacy, evidence: corrections and history; what is personal; files behind facts.
"""
