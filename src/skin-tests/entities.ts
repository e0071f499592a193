import { Entity, ForeignKey, Index } from 'typeorm';
import { Client } from '../clients/index.js';
import { Staff } from '../salon/index.js';
import { EditableRow, InstantColumn, IntColumn, RefColumn, TextColumn, WordsColumn } from '../store/index.js';

/** An allergy alert (patch) test of one product line on one client. */
@Entity('skin_test')
@Index(['clientId', 'appliedAt'])
export class SkinTest extends EditableRow {
  @ForeignKey(() => Client, { onDelete: 'CASCADE' })
  @RefColumn()
  clientId: string;

  /** The very line that is to be used; a test of one says nothing about another. */
  @TextColumn(120)
  productLine: string;

  /** Where on the skin, by the maker's instructions. */
  @TextColumn(80)
  place: string;

  @InstantColumn()
  appliedAt: number;

  @ForeignKey(() => Staff, { onDelete: 'SET NULL' })
  @RefColumn({ nullable: true })
  appliedById: string | null;

  @InstantColumn({ nullable: true })
  readAt: number | null;

  @TextColumn(10, { nullable: true })
  result: 'clear' | 'reacted' | null;

  /** What was seen and when, in the words of whoever read it. */
  @WordsColumn({ default: '' })
  seen: string;

  /** The maker's own validity in days, where it is stricter than the salon's. */
  @IntColumn({ nullable: true })
  makerValidDays: number | null;
}
