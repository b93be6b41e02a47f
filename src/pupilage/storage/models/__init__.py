"""One file per aggregate; everything a workspace owns carries its key."""

from pupilage.storage.models.absence import Absence, AloneAdvice
from pupilage.storage.models.care import CareEvent
from pupilage.storage.models.change_plan import ChangePlan
from pupilage.storage.models.coding import Coding, CodingEntry
from pupilage.storage.models.day import Appointment, CalendarLink, DayPlan, DayPreferences, PlanBlock
from pupilage.storage.models.exposure import ExposureEvent
from pupilage.storage.models.family import (
    FamilyCall,
    FamilyEntry,
    FamilyLink,
    FamilyMedia,
    FamilyPage,
    LessonItem,
)
from pupilage.storage.models.handover import HandoverWords
from pupilage.storage.models.household import Dog, Household, VetDate, Weight
from pupilage.storage.models.incident import Incident
from pupilage.storage.models.paid_interval import IntervalRun, RunEvent
from pupilage.storage.models.phone import PairedPhone
from pupilage.storage.models.programme import Goal, Programme, ProgrammePlan
from pupilage.storage.models.recording import Recording, RecordingEvent, RecordingJudgement, RecordingVoice
from pupilage.storage.models.reinforcer import Reinforcer
from pupilage.storage.models.replayed import ReplayedStay
from pupilage.storage.models.session import SessionEvent, TrainingSession, Trial
from pupilage.storage.models.voice import Voice, VoiceSample, VoiceWord
from pupilage.storage.models.workspace import (
    AuditEntry,
    Device,
    Installation,
    Membership,
    SignInLink,
    User,
    Workspace,
)

__all__ = [
    "Absence",
    "AloneAdvice",
    "Appointment",
    "AuditEntry",
    "CalendarLink",
    "CareEvent",
    "ChangePlan",
    "Coding",
    "CodingEntry",
    "DayPlan",
    "DayPreferences",
    "Device",
    "Dog",
    "ExposureEvent",
    "FamilyCall",
    "FamilyEntry",
    "FamilyLink",
    "FamilyMedia",
    "FamilyPage",
    "Goal",
    "HandoverWords",
    "Household",
    "Incident",
    "Installation",
    "IntervalRun",
    "LessonItem",
    "Membership",
    "PairedPhone",
    "PlanBlock",
    "Programme",
    "ProgrammePlan",
    "Recording",
    "RecordingEvent",
    "RecordingJudgement",
    "RecordingVoice",
    "Reinforcer",
    "ReplayedStay",
    "RunEvent",
    "SessionEvent",
    "SignInLink",
    "TrainingSession",
    "Trial",
    "User",
    "VetDate",
    "Voice",
    "VoiceSample",
    "VoiceWord",
    "Weight",
    "Workspace",
]
