import { dateIn, timeIn } from '../base/index.js';
import { namedSitting, type Slot } from '../book/index.js';
import type { ProposedVisit, WholeSeries } from '../rebooking/index.js';
import type { Service, Staff } from '../salon/index.js';
import { dayText } from './days.js';
import type { Setting } from './front.js';
import { type Option, STATE_WORDS } from './words.js';

/** A start and a stylist in the value of one choice. */
const choiceOf = ({ startsAt, staffId }: Pick<Slot, 'startsAt' | 'staffId'>) => `${startsAt}/${staffId}`;

/** The choice's parts; undefined for "leave out". */
export function slotOf(value: string | undefined): { startsAt: number; staffId: string } | undefined {
  const [, startsAt, staffId] = /^(\d{1,15})\/([\w-]{1,36})$/.exec(value ?? '') ?? [];
  return startsAt && staffId ? { startsAt: Number(startsAt), staffId } : undefined;
}

function slotOption(slot: Slot, { spoken }: Setting): Option {
  const { date, time, staffName } = slot;
  return { value: choiceOf(slot), label: `${dayText(date, spoken)}, ${time} with ${staffName}` };
}

/** One planned visit with the times it may have; the first is what is proposed. */
export function proposedRow(visit: ProposedVisit, place: number, setting: Setting) {
  const { on, kind, serviceIds, serviceNames, slot, alternatives } = visit;
  const options = [...(slot ? [slot] : []), ...alternatives].map((one) => slotOption(one, setting));
  return {
    place,
    number: place + 1,
    on: dayText(on, setting.spoken),
    what: serviceNames.join(' and '),
    full: kind === 'full',
    serviceIds: serviceIds.join(','),
    options,
    /** Nothing is free on the planned day or just before it. */
    misfit: slot === null,
    first: slot ? choiceOf(slot) : '',
    why: slot?.why,
  };
}

/** A series as its page shows it. */
export function seriesView(
  { series, appointments }: WholeSeries,
  services: readonly Service[],
  staff: readonly Staff[],
  { salon, now, spoken }: Setting,
) {
  const rows = [...appointments]
    .sort((a, b) => a.startsAt - b.startsAt)
    .map((appointment) => {
      const { id, version, startsAt, staffId, state } = appointment;
      return {
        id,
        version,
        when: `${dayText(dateIn(salon.zone, startsAt), spoken)}, ${timeIn(salon.zone, startsAt)}`,
        what: namedSitting(appointment, services),
        stylist: staff.find((one) => one.id === staffId)?.name ?? '',
        state,
        words: STATE_WORDS[state],
        ahead: state === 'booked' && startsAt > now,
      };
    });
  const ahead = rows.filter((row) => row.ahead);
  return {
    id: series.id,
    name: series.name,
    rows,
    ahead: ahead.length,
    from: ahead.map(({ id, when }): Option => ({ value: id, label: when })),
  };
}
