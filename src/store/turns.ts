import { Entity, LessThanOrEqual, PrimaryColumn } from 'typeorm';
import type { Clock } from '../base/index.js';
import { InstantColumn } from './columns.js';
import type { Reader } from './reader.js';
import type { UnitOfWork } from './unit-of-work.js';

/** When work that comes round was last taken on, by whichever process. */
@Entity()
export class Turn {
  @PrimaryColumn({ type: 'varchar', length: 40 })
  name: string;

  @InstantColumn()
  takenAt: number;
}

/**
 * Shares out work that comes round among any number of processes without a leader: whoever asks first when it is due
 * has the turn. Who dies in the middle of it leaves it to whoever asks when the next one is due.
 */
export class Turns {
  constructor(
    private readonly units: UnitOfWork,
    private readonly reader: Reader,
    private readonly clock: Clock,
  ) {}

  /** Whether the caller has the turn: one caller in `everyMs` milliseconds, among all processes. */
  async take(name: string, everyMs: number): Promise<boolean> {
    const now = this.clock.now();
    const due = LessThanOrEqual(now - everyMs);
    // Most ask in vain: they need not wait for the writer to be told so.
    const last = await this.reader.manager.findOneBy(Turn, { name });
    if (last && last.takenAt > now - everyMs && last.takenAt <= now) return false;
    return await this.units.run(async (manager) => {
      const { affected } = await manager.update(Turn, { name, takenAt: due }, { takenAt: now });
      if (affected) return true;
      const present = await manager.findOneBy(Turn, { name });
      // A turn in the future was taken by a clock that was wrong.
      if (present && present.takenAt <= now) return false;
      await manager.save(Turn, { name, takenAt: now });
      return true;
    });
  }
}
