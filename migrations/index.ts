import { Records1764061200000 } from './1764061200000-records.js';
import { Messages1764072000000 } from './1764072000000-messages.js';
import { BookSteps1764075600000 } from './1764075600000-book-steps.js';
import { Reports1764079200000 } from './1764079200000-reports.js';
import { Identity1764082800000 } from './1764082800000-identity.js';
import { Chairside1764086400000 } from './1764086400000-chairside.js';
import { Desk1764090000000 } from './1764090000000-desk.js';
import { Sittings1764093600000 } from './1764093600000-sittings.js';
import { FigureColumns1764100800000 } from './1764100800000-figure-columns.js';
import { Imports1764104400000 } from './1764104400000-imports.js';
import { PostgresGuards1764111600000 } from './1764111600000-postgres-guards.js';
import { Turns1764115200000 } from './1764115200000-turns.js';
import { Indices1764115200001 } from './1764115200001-indices.js';
import { RequestKeys1764201600000 } from './1764201600000-request-keys.js';
import { Webhooks1764201600001 } from './1764201600001-webhooks.js';
import { LinksByEnd1764201600003 } from './1764201600003-links-by-end.js';
import { AuditByKind1764201600010 } from './1764201600010-audit-by-kind.js';
import { ClaimsByTime1764201600020 } from './1764201600020-claims-by-time.js';

/** In the order they run. A landed migration is never edited. */
export const MIGRATIONS = [
  Records1764061200000,
  Messages1764072000000,
  BookSteps1764075600000,
  Reports1764079200000,
  Identity1764082800000,
  Chairside1764086400000,
  Desk1764090000000,
  Sittings1764093600000,
  FigureColumns1764100800000,
  Imports1764104400000,
  PostgresGuards1764111600000,
  Turns1764115200000,
  Indices1764115200001,
  RequestKeys1764201600000,
  Webhooks1764201600001,
  LinksByEnd1764201600003,
  AuditByKind1764201600010,
  ClaimsByTime1764201600020,
];
