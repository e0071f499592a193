import { Entity, ForeignKey, Index } from 'typeorm';
import {
  EditableRow,
  FlagColumn,
  InstantColumn,
  JsonColumn,
  RefColumn,
  Row,
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
}

/** A signed-in browser. The cookie holds the token, the row only its SHA-256. */
@Entity('session')
export class Session extends Row {
  @Index({ unique: true })
  @TextColumn(64)
  tokenHash: string;

  @ForeignKey(() => Account, { onDelete: 'CASCADE' })
  @Index()
  @RefColumn()
  accountId: string;

  @InstantColumn()
  startedAt: number;

  @InstantColumn()
  expiresAt: number;
}

/** Who looked at or changed what. Never updated, never deleted; health fields' values are not copied here. */
@Entity('audit_entry')
@Index(['subjectKind', 'subjectId'])
export class AuditEntry extends Row {
  @InstantColumn()
  at: number;

  @RefColumn({ nullable: true })
  accountId: string | null;

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
}
