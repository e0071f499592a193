import type { Shared } from '../store/index.js';

/** No desk lasts longer. */
const FORGET_SECONDS = 31 * 24 * 3600;

/**
 * Counts wrong PINs in a row at each desk, in all processes together where Redis is there. A restart of what keeps the
 * counts forgets them; the device's other bounds stand.
 */
export class WrongPins {
  private readonly alone = new Map<string, number>();

  constructor(private readonly shared: Shared) {}

  /** Counts an attempt as wrong until it is forgotten. Returns how many there were in a row. */
  async count(deskId: string): Promise<number> {
    const key = this.at(deskId);
    const answers = await this.shared.ask((redis) =>
      redis.multi().incr(key).expire(key, FORGET_SECONDS).exec(),
    );
    const counted = answers?.[0]?.[1];
    if (typeof counted === 'number') return counted;
    const attempts = (this.alone.get(deskId) ?? 0) + 1;
    this.alone.set(deskId, attempts);
    return attempts;
  }

  async forget(deskId: string): Promise<void> {
    await this.shared.ask((redis) => redis.del(this.at(deskId)));
    this.alone.delete(deskId);
  }

  private at(deskId: string): string {
    return `halfinch:pins:${deskId}`;
  }
}
