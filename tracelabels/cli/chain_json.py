"""What is on record beside a chain, as the JSON of ``trace``: loads, holds, recalls, adverse events."""

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from tracelabels.custody import IndicatorReading, LoadReadings, Name, Release
    from tracelabels.sterilization import Evidence, RodeAlong
    from tracelabels.workflows.beside_chain import Beside
    from tracelabels.workflows.chain_notices import EventInChain, HoldOnChain, RecallOfChain
    from tracelabels.workflows.load_accounts import LoadAccount, Signed, SporesOfLoad

Json = dict[str, object]


def beside_record(beside: "Beside") -> Json:
    """Return what stands beside a chain as JSON takes it; moments are UTC."""
    return {
        "loads": [_load(one, beside) for one in beside.loads],
        "holds": [_hold(one) for one in beside.notices.holds],
        "recalls": [_recall(one) for one in beside.notices.recalls],
        "adverse_events": [_event(one) for one in beside.notices.events],
    }


def _load(account: "LoadAccount", beside: "Beside") -> Json:
    load, end = account.load, account.end
    return {
        "load": load.number,
        "steriliser": load.steriliser.text,
        "cycle": load.cycle_kind.value,
        "programme": load.programme,
        "goods": load.goods.value,
        "operator": load.operator,
        "started_at": load.started_at,
        "ended_at": end.at if end else None,
        "outcome": end.outcome.value if end else None,
        "pouches": _texts(load.pouches),
        "came_out": {one.pouch.text: one.state.value for one in account.unloaded},
        "readings": {"verdict": account.verdict.value, "entered": [_readings(one) for one in account.readings]},
        "indicators": {
            "turned": _texts(account.turned),
            "not_turned": _texts(account.not_turned),
            "unread": _texts(account.unread),
            "for_load": [_indicator(one) for one in account.indicators_of_load],
        },
        "spore_tests": _spores(account.spores),
        "decision": _decision(account.decision) if account.decision else None,
        "decided_before": [_decision(one) for one in account.decisions[:-1]],
        "held_by": [one.number for one in beside.notices.holds_now_on(load.as_name)],
    }


def _readings(signed: "Signed[LoadReadings]") -> Json:
    one = signed.value
    return {
        "verdict": one.verdict.value,
        "source": one.source.value,
        "probe": one.probe.value,
        "computed": one.computed.value if one.computed else None,
        "reasons": list(one.reasons),
        "by": signed.by,
        "corrected_by": signed.corrected_by,
    }


def _indicator(one: "IndicatorReading") -> Json:
    return {"place": one.place.value, "result": one.result.value, "stage": one.stage.value}


def _spores(spores: "SporesOfLoad") -> Json:
    return {
        "before": _test(spores.before) if spores.before else None,
        "rode_along": [_test(one) for one in spores.rode_along],
        "after": _test(spores.after) if spores.after else None,
        "at_start": _evidence(spores.at_start),
        "at_decision": _evidence(spores.at_decision) if spores.at_decision else None,
        "today": _evidence(spores.today),
        "today_for_protected_care": _evidence(spores.protected),
    }


def _test(test: "RodeAlong") -> Json:
    return {
        "test": test.test,
        "load": test.load,
        "at": test.load_at,
        "result": test.result.value if test.result else None,
        "read_at": test.read_at,
    }


def _evidence(evidence: "Evidence") -> Json:
    return {"state": evidence.state.value, "sentence": evidence.sentence, "rode_along": evidence.rode_along}


def _decision(signed: "Signed[Release]") -> Json:
    one = signed.value
    return {
        "decision": one.decision.value,
        "early": one.is_early,
        "at": one.at,
        "by": signed.by,
        "second": one.second,
        "corrected_by": signed.corrected_by,
        "excepted": _texts(one.excepted),
        "reasons": list(one.reasons),
    }


def _hold(hold: "HoldOnChain") -> Json:
    return {
        "hold": hold.number,
        "cause": hold.cause.value,
        "reason": hold.reason,
        "at": hold.at,
        "lifted_at": hold.lifted_at,
        "lifted_because": hold.lifted_because,
        "things": _things(hold.things),
    }


def _recall(recall: "RecallOfChain") -> Json:
    return {
        "recall": recall.number,
        "cause": recall.cause,
        "reason": recall.reason,
        "at": recall.at,
        "closed": recall.is_closed,
        "things": _things(recall.things),
        "clients": [{"code": one.client.text, "end": one.end.value} for one in recall.clients],
    }


def _event(event: "EventInChain") -> Json:
    return {
        "event": event.number,
        "client": event.client.text,
        "onset": event.onset,
        "report_due": event.report_due,
        "report_sent": event.report_sent,
        "closed_on": event.closed_on,
    }


def _texts(names: "tuple[Name, ...]") -> list[str]:
    return [one.text for one in names]


def _things(names: "tuple[Name, ...]") -> list[list[str]]:
    return [[one.kind.value, one.text] for one in names]
