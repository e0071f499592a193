import { createHash, randomBytes } from 'node:crypto';
import { Entity, type EntityManager, ForeignKey, Index } from 'typeorm';
import { DomainError } from '../base/index.js';
import { Client } from '../clients/index.js';
import { Staff } from '../salon/index.js';
import { InstantColumn, insertRows, newId, RefColumn, Row, TextColumn } from '../store/index.js';
import { Appointment } from './entities.js';
import { WaitingOffer } from './waiting-entities.js';

/** 192 random bits: more than the 128 below which a secret counts as guessable (RFC 4086, section 8). */
const TOKEN_BYTES = 24;

/** 'shape': to the free times for a client's next cut. */
export type LinkKind = 'appointment' | 'offer' | 'calendar' | 'shape';

/**
 * What opens to whoever holds a secret address: one appointment, one offer, one client's next cut or one stylist's
 * calendar. Only a hash of the secret is kept, so that a copy of the database opens nothing.
 */
@Entity('private_link')
export class PrivateLink extends Row {
  /** SHA-256 in hexadecimal. */
  @Index({ unique: true })
  @TextColumn(64)
  tokenHash: string;

  @TextColumn(12)
  kind: LinkKind;

  @ForeignKey(() => Client, { onDelete: 'CASCADE' })
  @RefColumn({ nullable: true })
  clientId: string | null;

  @ForeignKey(() => Appointment, { onDelete: 'CASCADE' })
  @Index()
  @RefColumn({ nullable: true })
  appointmentId: string | null;

  @ForeignKey(() => WaitingOffer, { onDelete: 'CASCADE' })
  @RefColumn({ nullable: true })
  offerId: string | null;

  @ForeignKey(() => Staff, { onDelete: 'CASCADE' })
  @Index()
  @RefColumn({ nullable: true })
  staffId: string | null;

  @InstantColumn()
  issuedAt: number;

  /** Null: until it is replaced. */
  @Index('private_link_expires')
  @InstantColumn({ nullable: true })
  expiresAt: number | null;
}

const hashOf = (token: string) => createHash('sha256').update(token).digest('hex');

type Opens = Partial<Pick<PrivateLink, 'clientId' | 'appointmentId' | 'offerId' | 'staffId'>>;

type Wanted = { readonly opens: Opens; readonly expiresAt: number | null };

/** Makes new secrets and returns them in the order of what they open; they can never be read again. */
export async function issueLinks(
  manager: EntityManager,
  kind: LinkKind,
  wanted: readonly Wanted[],
  issuedAt: number,
): Promise<string[]> {
  const tokens = wanted.map(() => randomBytes(TOKEN_BYTES).toString('base64url'));
  const rows = wanted.map(({ opens, expiresAt }, i) => ({
    id: newId(),
    tokenHash: hashOf(tokens[i] ?? ''),
    kind,
    clientId: null,
    appointmentId: null,
    offerId: null,
    staffId: null,
    ...opens,
    issuedAt,
    expiresAt,
  }));
  await insertRows(manager, PrivateLink, rows);
  return tokens;
}

/** The same for one. */
export async function issueLink(
  manager: EntityManager,
  kind: LinkKind,
  opens: Opens,
  issuedAt: number,
  expiresAt: number | null,
): Promise<string> {
  const [token = ''] = await issueLinks(manager, kind, [{ opens, expiresAt }], issuedAt);
  return token;
}

/** Throws LINK.NOT_VALID for a secret that is unknown, of another kind or expired, without saying which. */
export async function openLink(
  manager: EntityManager,
  kind: LinkKind,
  token: unknown,
  now: number,
): Promise<PrivateLink> {
  const link =
    typeof token === 'string' && /^[\w-]{32}$/.test(token)
      ? await manager.findOneBy(PrivateLink, { tokenHash: hashOf(token), kind })
      : null;
  if (!link || (link.expiresAt !== null && link.expiresAt <= now)) {
    throw new DomainError(
      'not-found',
      'LINK.NOT_VALID',
      'This link is not valid, or no longer. Please ask the salon for a new one.',
    );
  }
  return link;
}
