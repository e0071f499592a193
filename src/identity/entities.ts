import { Entity, ForeignKey, Index } from 'typeorm';
import {
  EditableRow,
  FlagColumn,
  InstantColumn,
  IntColumn,
  JsonColumn,
  RefColumn,
  Row,
  SealedColumn,
  TextColumn,
  WordsColumn,
} from '../store/index.js';

export const ROLES = ['stylist', 'desk', 'owner'] as const;
export type Role = (typeof ROLES)[number];

/** A person's sign-in. Who they are in a salon hangs on the staff row that points here. */
@Entity('account')
export class Account extends EditableRow {
  @Index({ unique: true })
  @TextColumn(254)
  email: string;

  @TextColumn(120)
  name: string;

  @TextColumn(10)
  role: Role;

  /** argon2id, encoded with its parameters. */
  @TextColumn(255)
  passwordHash: string;

  @FlagColumn({ default: true })
  active: boolean;

  /** Base32 secret of the one-time codes; null: the password alone lets in. */
  @SealedColumn('account.totpSecret', { nullable: true })
  totpSecret?: string | null;

  /** Newest 30-second step whose code was taken: a code is good for once. */
  @InstantColumn({ nullable: true })
  totpStep?: number | null;

  /** argon2id of the short number for switching at a shared desk. */
  @TextColumn(255, { nullable: true })
  pinHash?: string | null;
}

/**
 * 'browser' is a person at a browser, 'api' a program that signed in, 'desk' a device that lets people switch by
 * PIN and has no rights of its own, 'pin' a person who switched there.
 */
export const SESSION_KINDS = ['browser', 'api', 'desk', 'pin'] as const;
export type SessionKind = (typeof SESSION_KINDS)[number];

/** Something that lets an account in. Whoever holds the token has it; the row holds only its SHA-256. */
abstract class TokenRow extends Row {
  @Index({ unique: true })
  @TextColumn(64)
  tokenHash: string;

  @ForeignKey(() => Account, { onDelete: 'CASCADE' })
  @Index()
  @RefColumn()
  accountId: string;
}

/** A signed-in browser. The cookie holds the token, the row only its SHA-256. */
@Entity('session')
export class Session extends TokenRow {
  @InstantColumn()
  startedAt: number;

  @InstantColumn()
  expiresAt: number;

  @TextColumn(10, { default: 'api' })
  kind: SessionKind;

  /** Brought up to date every few minutes at most. */
  @InstantColumn({ nullable: true })
  lastSeenAt?: number | null;

  @WordsColumn({ nullable: true })
  address?: string | null;

  /** What the browser calls itself. */
  @TextColumn(200, { nullable: true })
  agent?: string | null;

  /** Session of the desk device that a PIN session hangs on: when the one ends, so does the other. */
  @RefColumn({ nullable: true })
  deskId?: string | null;
}

/** Lets a program act for an account within `scopes`. Shown once; the row holds only its SHA-256. */
@Entity('api_token')
export class ApiToken extends TokenRow {
  @TextColumn(80)
  name: string;

  /** Actions of ACCESS; never more than the account's own role may do. */
  @JsonColumn()
  scopes: string[];

  @InstantColumn()
  madeAt: number;

  @InstantColumn()
  expiresAt: number;

  @InstantColumn({ nullable: true })
  endedAt?: number | null;
}

/** A link by which an account's password may be set once. The row holds only the SHA-256 of what the link holds. */
@Entity('password_link')
export class PasswordLink extends TokenRow {
  @InstantColumn()
  madeAt: number;

  @InstantColumn()
  expiresAt: number;

  @InstantColumn({ nullable: true })
  usedAt?: number | null;
}

/**
 * Who looked at or changed what. The database itself refuses to update or delete these rows; each carries a hash
 * over itself and the one before it, so that what was changed all the same shows. Health fields' values are not
 * copied here.
 */
@Entity('audit_entry')
@Index(['subjectKind', 'subjectId'])
@Index('audit_of_subject', ['subjectId', 'number'])
@Index('audit_by_account', ['accountId', 'number'])
@Index('audit_by_kind', ['subjectKind', 'at'])
export class AuditEntry extends Row {
  /** Counts from 1 without gaps. */
  @Index({ unique: true })
  @IntColumn()
  number: number;

  @InstantColumn()
  at: number;

  @RefColumn({ nullable: true })
  accountId: string | null;

  /** 'stylist', 'desk', 'owner', 'client' or 'system'. */
  @TextColumn(10)
  role: string;

  @TextColumn(60)
  action: string;

  @TextColumn(30)
  subjectKind: string;

  @RefColumn({ nullable: true })
  subjectId: string | null;

  @JsonColumn({ nullable: true })
  details: Record<string, string | number | boolean | null> | null;

  @WordsColumn({ nullable: true })
  address: string | null;

  /** SHA-256 in hexadecimal; see `auditHash`. */
  @TextColumn(64)
  hash: string;
}
