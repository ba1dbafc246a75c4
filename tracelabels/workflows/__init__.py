"""One module for each thing that staff do: it names the rooms and holds the order of steps.

Modules:
    practice: a practice's folder, settings, ledger and clock; every other workflow is handed one.
    new_practice: make a practice's folder.
    request_keys: asked again, a request gives the same answer.
    enter_product, receive_bottle, prepare_tubes, pack_pouches: from the maker's bottle to the sealed pouch.
    enter_consumable, enter_steriliser: lots of what is used up; sterilisers and their days.
    judge_log, leave_curve: what a steriliser did, from a logger's file, with or without a practice.
    load_programme: the programme that a load runs, kept with it.
    run_load, unload, record_readings, read_indicators, record_spore_test: a steriliser load from start to tests.
    log_of_load: is this log the log of that load?
    compare_indicator: a photographed indicator beside its lot's pictures.
    report_load, report_logbook: pages for the inspector's folder: a load, a steriliser's logbook.
    release_load, hold_stock: decisions about loads and stock.
    due_list, account_labels: what is due; what became of printed labels.
    spore_record, processing_record: what the ledger knows of spore tests, and of a pouch's processing.
    templates: sheets and layouts at hand, the practice's printer, a job on it.
    label_contents: what a recorded tube's or pouch's label says.
    label_list: labels straight from a list.
    find_photographs, leave_scan_table: a folder of photographs, and a table of what was read in them.
    leave_file: files for people, whole or not at all, never over something else.
    note_left_file: letters and call lists that were left, noted so that erasing a client finds them.
    print_labels: set, prove, and only then leave a file; the one place that writes label files.
    print_run: print labels of recorded things and record exactly what each says.
    check_legibility: will labels read? Rules and simulated trials before the run; what to print instead.
    check_first_sheet: a picture of the first printed sheet, graded and compared with its run.
    report_legibility: the report of either check.
    chair_record: what the gate needs to know of a tube, a pouch, a client.
    register_client: clients, their care level, and what is sealed about them.
    open_at_chair, fill_at_chair: a pouch is opened, an empty tube is filled.
    use_gate, use_on_client: everything used on a client, asked again where it is recorded.
    destroy_item, move_item: what is destroyed, given away, lost, found.
    report_incident, report_adverse_event: what should not have happened, what went wrong.
    check_at_chair: a label, photographed or typed, its record, the gate.
    mark_photograph: what was read and said, drawn on the photograph.
    practice_keys: where the practice's keys lie, and which a backup keeps apart.
    signing_keys: the key that signs heads, and what is known of the keys that signed before it.
    keep_evidence: photographs, logger files, printed documents, kept by their digest; sealed if they show a client.
    export_client: everything about one client, readable, with the files opened.
    keep_staff: codes in the record, names apart.
    erase_client: all that is personal about a client goes, unless a recall, an event or a rule of keeping forbids it.
    correct_record: correct a field or take a record back, with a reason; which labels say something else now.
    show_history: every version of a thing, and what names it.
    plain_reasons: reasons that say nothing personal.
    field_texts: fields of recorded values as texts.
    verify_records, export_heads: is the record whole, and what shows it to others.
    backup, restore, backup_format: everything in one file, its keys in another, and back into a new folder.
    name_cause: what a question for a trace or a recall means.
    chain_graph, chain_groups: the chain with names, and made small enough to be read.
    load_accounts, load_words: how loads were processed and decided about, by whom; the same in words.
    chain_notices: holds, recalls, adverse events that concern a chain.
    beside_chain, chain_cards: all that is told beside a chain; a card for each thing.
    trace: both ways along the chain, with its proof of completeness.
    chain_picture, chain_panels, chain_text, chain_drawing, leave_picture: a picture of the chain with its cards, laid
        out, drawn, left in a file.
    recall: keep back what a cause reaches, reach every client, count the stock.
    stock_list: what is there, what to take first, what expires, what is kept back.
    recall_letters: letters and a call list for a recall's clients.
    look_up: what is on record under a number.
    look_up_recorded: the same for everything after the pouch, and what names a thing.
    explain: scanned texts, one by one.
    demonstrate, demonstration_days, demonstration_processing, demonstration_chair, demonstration_recalls,
        demonstration_photographs, demonstration_logs, demonstration_step: invented days through these very workflows.
"""
