import { Entity, ForeignKey, Index } from 'typeorm';
import { Salon } from '../salon/index.js';
import { EditableRow, IntColumn, RefColumn, TextColumn } from '../store/index.js';

/** 'client': without visit or booking for so long; 'message': the words and addresses of messages. */
export const RETENTION_KINDS = ['client', 'message'] as const;
export type RetentionKind = (typeof RETENTION_KINDS)[number];

/** After how many months something personal is taken out; no row: it is kept. */
@Entity('retention_rule')
@Index(['salonId', 'kind'], { unique: true })
export class RetentionRule extends EditableRow {
  @ForeignKey(() => Salon, { onDelete: 'CASCADE' })
  @RefColumn()
  salonId: string;

  @TextColumn(20)
  kind: RetentionKind;

  @IntColumn()
  months: number;
}
