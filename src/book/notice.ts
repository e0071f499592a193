import { DomainError } from '../base/index.js';
import { type Salon, USUAL_NOTICE_HOURS } from '../salon/index.js';

const HOUR_MS = 3_600_000;

/** Last instant at which a client may still move or cancel by herself what starts then. */
export function noticeEndsAt(salon: Pick<Salon, 'cancelNoticeHours'>, startsAt: number): number {
  return startsAt - (salon.cancelNoticeHours ?? USUAL_NOTICE_HOURS) * HOUR_MS;
}

/** Throws LINK.TOO_LATE, telling whom to ring, once the notice that the salon asks for has run out. */
export function requireNotice(salon: Salon, startsAt: number, now: number): void {
  if (now <= noticeEndsAt(salon, startsAt)) return;
  const hours = salon.cancelNoticeHours ?? USUAL_NOTICE_HOURS;
  const notice = hours === 1 ? '1 hour' : `${hours} hours`;
  throw new DomainError(
    'refused',
    'LINK.TOO_LATE',
    `It begins in less than ${notice}. Please ring ${salon.name}, ${salon.phone}.`,
    [],
    { phone: salon.phone },
  );
}
