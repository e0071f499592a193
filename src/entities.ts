import { Appointment, BookingSeries, Claim, PrivateLink, WaitingEntry, WaitingOffer } from './book/index.js';
import { Client, Consent } from './clients/index.js';
import { ColourFormula, ColourLine, RootBandTolerance } from './colour/index.js';
import { Consultation, ConsultationHealth } from './consultations/index.js';
import {
  CutFormula,
  CutStep,
  GrowthRecord,
  HoldLimitRow,
  Measurement,
  Visit,
  VisitDraft,
  ZoneLength,
  ZoneLink,
} from './cuts/index.js';
import { ImportBatch, ImportedRow, ImportRun } from './exchange/index.js';
import { Account, ApiToken, AuditEntry, PasswordLink, Session } from './identity/index.js';
import { Photo } from './photos/index.js';
import { RetentionRule } from './privacy/index.js';
import { NotNow, ShapeWindow } from './rebooking/index.js';
import { Message, MessageRules, MessageRun, SalonTemplate } from './reminders/index.js';
import { DemandForecast, NudgeHoldOut } from './reports/index.js';
import {
  Closure,
  OpeningHours,
  Resource,
  RotaChange,
  RotaEntry,
  Salon,
  Service,
  Staff,
} from './salon/index.js';
import { MedicalClearance, SafetyNote, SkinTest } from './skin-tests/index.js';
import { RequestKey, Turn } from './store/index.js';
import { Webhook, WebhookDelivery } from './webhooks/index.js';

/** Every entity of every room: what the data sources are opened with. */
export const ENTITIES = [
  Account,
  Session,
  ApiToken,
  PasswordLink,
  AuditEntry,
  Salon,
  OpeningHours,
  Staff,
  RotaEntry,
  RotaChange,
  Closure,
  Service,
  Resource,
  Client,
  Consent,
  SkinTest,
  SafetyNote,
  MedicalClearance,
  CutFormula,
  CutStep,
  ZoneLength,
  ZoneLink,
  HoldLimitRow,
  Visit,
  VisitDraft,
  Measurement,
  GrowthRecord,
  Consultation,
  ConsultationHealth,
  Photo,
  ColourFormula,
  ColourLine,
  RootBandTolerance,
  BookingSeries,
  Appointment,
  Claim,
  WaitingEntry,
  WaitingOffer,
  PrivateLink,
  ShapeWindow,
  NotNow,
  Message,
  MessageRules,
  SalonTemplate,
  MessageRun,
  DemandForecast,
  NudgeHoldOut,
  RetentionRule,
  Webhook,
  WebhookDelivery,
  Turn,
  RequestKey,
  ImportRun,
  ImportBatch,
  ImportedRow,
];
