import { Entity, ForeignKey, Index } from 'typeorm';
import { Client } from '../clients/index.js';
import { Visit } from '../cuts/index.js';
import { Account } from '../identity/index.js';
import { InstantColumn, IntColumn, RefColumn, Row, TextColumn } from '../store/index.js';

export const PHOTO_ANGLES = ['front', 'left side', 'right side', 'back', 'nape', 'top'] as const;
export type PhotoAngle = (typeof PHOTO_ANGLES)[number];

/** On arrival, or when the service was done. */
export const PHOTO_MOMENTS = ['before', 'after'] as const;
export type PhotoMoment = (typeof PHOTO_MOMENTS)[number];

/** A picture of a visit. The file lies in the photos folder; a row is never there without its file. */
@Entity('photo')
@Index(['visitId', 'angle'])
export class Photo extends Row {
  @ForeignKey(() => Client, { onDelete: 'CASCADE' })
  @Index()
  @RefColumn()
  clientId: string;

  @ForeignKey(() => Visit, { onDelete: 'CASCADE' })
  @RefColumn()
  visitId: string;

  @TextColumn(10)
  angle: PhotoAngle;

  @TextColumn(6)
  moment: PhotoMoment;

  /** Name in the photos folder; random, so that it cannot be guessed. Not given out. */
  @Index({ unique: true })
  @TextColumn(60)
  file: string;

  @IntColumn()
  widthPx: number;

  @IntColumn()
  heightPx: number;

  @IntColumn()
  bytes: number;

  @InstantColumn()
  addedAt: number;

  @ForeignKey(() => Account, { onDelete: 'SET NULL' })
  @RefColumn({ nullable: true })
  addedById: string | null;
}
