import { Column, Entity, ForeignKey, Index } from 'typeorm';
import { Salon } from '../salon/index.js';
import {
  DateColumn,
  EditableRow,
  FlagColumn,
  InstantColumn,
  IntColumn,
  RefColumn,
  Row,
} from '../store/index.js';

/** An expectation: not whole even of things that are. */
const RealColumn = (): PropertyDecorator => Column({ type: 'double precision' });

/** A week as it was expected on a day: kept as it was said, to be scored against what came. */
@Entity('demand_forecast')
@Index(['salonId', 'madeOn', 'weekStartsOn'], { unique: true })
export class DemandForecast extends Row {
  @ForeignKey(() => Salon, { onDelete: 'CASCADE' })
  @RefColumn()
  salonId: string;

  @DateColumn()
  madeOn: string;

  /** Monday. */
  @DateColumn()
  weekStartsOn: string;

  @RealColumn()
  visits: number;

  /** 90 % range. */
  @RealColumn()
  visitsLow: number;

  @RealColumn()
  visitsHigh: number;

  @RealColumn()
  minutes: number;

  @RealColumn()
  minutesLow: number;

  @RealColumn()
  minutesHigh: number;

  /** Of `minutes`, those already in the book. */
  @RealColumn()
  bookedMinutes: number;

  /** What the rota gave for that week when it was made. */
  @RealColumn()
  capacityMinutes: number;

  /** Made later, from what was known on `madeOn`. */
  @FlagColumn({ default: false })
  afterwards: boolean;

  @InstantColumn()
  madeAt: number;
}

/** The owner's switch for an honest test of nudges; a salon without a row, or with 0 percent, leaves nobody out. */
@Entity('nudge_hold_out')
export class NudgeHoldOut extends EditableRow {
  @ForeignKey(() => Salon, { onDelete: 'CASCADE' })
  @Index({ unique: true })
  @RefColumn()
  salonId: string;

  /** Of all clients; 0 to 50. */
  @IntColumn()
  percent: number;

  /** Since when it stands at that. */
  @InstantColumn()
  since: number;
}
