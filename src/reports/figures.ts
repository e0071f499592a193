import { Injectable } from '@nestjs/common';
import { addDays, Clock, DomainError, dateIn } from '../base/index.js';
import { type Salon, USUAL_NOTICE_HOURS } from '../salon/index.js';
import { Reader } from '../store/index.js';
import { attendanceFigures, reminderFigure } from './attendance.js';
import { rebookedFigure, returnedFigures } from './coming-back.js';
import type { Figure } from './figure.js';
import { Forecasts } from './forecasts.js';
import { HoldOuts } from './hold-outs.js';
import { intervalRatioFigure } from './interval-ratio.js';
import { nudgeFigure } from './nudges.js';
import { outlookFigure, scoreFigure } from './outlook.js';
import { retentionFigure } from './retention.js';
import type { CutBy, FigureScope } from './scope.js';
import { goneFigures } from './shape-gone.js';
import { timeToReturnFigure } from './time-to-return.js';
import { useFigures } from './use.js';
import { valueFigure } from './value.js';

export const FIGURE_PARTS = [
  'coming-back',
  'windows',
  'cohorts',
  'attendance',
  'use',
  'value',
  'outlook',
] as const;
export type FigurePart = (typeof FIGURE_PARTS)[number];

/** Parts whose figures are all cut one way, whatever is asked. */
export const UNCUT_PARTS: readonly FigurePart[] = ['cohorts', 'use', 'outlook'];
/** Parts that look at days of their own. */
export const FIXED_SPAN_PARTS: readonly FigurePart[] = ['cohorts', 'outlook'];
/** Parts that are the whole salon's and nobody's own. */
export const WHOLE_SALON_PARTS: readonly FigurePart[] = ['outlook'];

/** A cohort is watched for a year, so two years show both whole and growing ones. */
const COHORT_DAYS = 730;
/** Nothing is asked of longer ago. */
const LONGEST_DAYS = 3660;

export type FigureRequest = {
  readonly salon: Salon;
  readonly part: FigurePart;
  readonly by: CutBy;
  readonly fromDate: string;
  /** Null: everybody's; else this stylist's own. */
  readonly staffId: string | null;
};

/** All figures, part by part, ready to be shown, sent or written to a file. */
@Injectable()
export class Figures {
  constructor(
    private readonly reader: Reader,
    private readonly clock: Clock,
    private readonly holdOuts: HoldOuts,
    private readonly forecasts: Forecasts,
  ) {}

  /** Throws REPORT.NOT_OWN when figures of the whole salon are asked for as one stylist's. */
  async part({ salon, part, by, fromDate, staffId }: FigureRequest): Promise<Figure[]> {
    const { manager } = this.reader;
    const now = this.clock.now();
    const today = dateIn(salon.zone, now);
    const scope: FigureScope & { readonly salonId: string } = {
      salonId: salon.id,
      staffId,
      fromDate: [addDays(today, -LONGEST_DAYS), fromDate < today ? fromDate : today].sort().at(-1) as string,
      today,
      now,
      zone: salon.zone,
    };
    const cutScope: FigureScope = by === 'salon' ? { ...scope, salonId: null } : scope;
    const noticeHours = salon.cancelNoticeHours ?? USUAL_NOTICE_HOURS;
    switch (part) {
      case 'coming-back':
        return [
          await rebookedFigure(manager, cutScope, by),
          ...(await returnedFigures(manager, cutScope, by)),
          await timeToReturnFigure(manager, cutScope, by),
        ];
      case 'windows':
        return [
          await intervalRatioFigure(manager, cutScope, by),
          ...(await goneFigures(manager, cutScope, by)),
        ];
      case 'cohorts':
        return [await retentionFigure(manager, { ...scope, fromDate: addDays(today, -COHORT_DAYS) })];
      case 'attendance':
        return [
          ...(await attendanceFigures(manager, cutScope, by, noticeHours)),
          await reminderFigure(manager, scope, noticeHours),
          await nudgeFigure(manager, scope, await this.holdOuts.of(salon.id)),
        ];
      case 'use':
        return await useFigures(manager, scope);
      case 'value':
        return [await valueFigure(manager, cutScope, by)];
      case 'outlook':
        if (staffId !== null) {
          throw new DomainError('forbidden', 'REPORT.NOT_OWN', 'The outlook is the whole salon’s.');
        }
        return [
          outlookFigure(await this.forecasts.latest(salon.id)),
          scoreFigure(await this.forecasts.scored(salon)),
        ];
    }
  }
}
