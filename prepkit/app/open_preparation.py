"""A preparation open at a workstation, as front ends hold it: its session, and a service for each task."""

import uuid

from prepkit.app.cot_history import CotHistory
from prepkit.app.eventlog.repository import append_first, read_preparation
from prepkit.app.files import WorkstationFiles
from prepkit.app.identity import Identity
from prepkit.app.services.baby import BabyService
from prepkit.app.services.batches import BatchService
from prepkit.app.services.bedside import BedsideService
from prepkit.app.services.check import SecondCheckService
from prepkit.app.services.doses import EarlierDoseService
from prepkit.app.services.handover import HandoverService
from prepkit.app.services.lines import LineService
from prepkit.app.services.ready import ReadyService
from prepkit.app.session import PreparationSession
from prepkit.preparation.decide import decide_start
from prepkit.preparation.lines.events import Listed
from prepkit.preparation.state import Preparation
from prepkit.preparation.text import Refusal
from prepkit.store import Store

NOTHING_GIVEN = "The birth weight and gestation at birth are needed for the list."


class OpenPreparation:
    """One preparation, open: a service for each task, all of the same session."""

    def __init__(self, session: PreparationSession) -> None:
        """Join the services of one session."""
        self.session = session
        history = CotHistory(session)
        self.baby = BabyService(session, history)
        self.doses = EarlierDoseService(session, history)
        self.lines = LineService(session, history)
        self.check = SecondCheckService(session)
        self.batches = BatchService(session)
        self.ready = ReadyService(session, history)
        self.handover = HandoverService(session, history)
        self.bedside = BedsideService(session)


class PreparationOpener:
    """Starts preparations and opens those in progress; gives a refusal in words where that cannot be."""

    def __init__(self, store: Store, files: WorkstationFiles, identity: Identity) -> None:
        """Nothing is read yet."""
        self._store = store
        self._files = files
        self._identity = identity

    def start(self, kit: str, cot: str, *, practice: bool) -> OpenPreparation | str:
        """Start a preparation."""
        ward = self._files.look_at_ward(again=True)
        if nobody := self._identity.refuse_if_not_signed_in(self._identity.read_policy(ward)):
            return nobody
        read = self._files.load(kit, ward)
        if isinstance(read, str):
            return read
        decision = decide_start(
            cot,
            kit,
            kit_edition=read.kit.model.edition,
            kit_name=read.kit.model.short,
            kit_text=read.kit.text,
            ward_text=read.ward.text if read.ward else None,
            ward_name=read.ward.model.name if read.ward else None,
            practice=practice,
            listed=Listed("facts", (), NOTHING_GIVEN, "facts"),
        )
        prep = uuid.uuid4().hex
        state = append_first(self._store, prep, decision, self._identity.make_attribution())
        return state.reason if isinstance(state, Refusal) else self._open(prep, state)

    def resume(self, prep: str) -> OpenPreparation | str:
        """Open a preparation that is in progress."""
        if nobody := self._identity.refuse_if_not_signed_in():
            return nobody
        return self._open(prep, read_preparation(self._store, prep))

    def _open(self, prep: str, state: Preparation) -> OpenPreparation:
        return OpenPreparation(PreparationSession(self._store, self._files, self._identity, prep, state))
