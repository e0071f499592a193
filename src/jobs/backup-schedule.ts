import { type BeforeApplicationShutdown, Logger, type OnApplicationBootstrap } from '@nestjs/common';
import type { Clock } from '../base/index.js';
import { forgetExpired, keptIn, lastDueAt, makeBackup } from '../keep/index.js';
import type { Settings, Turns } from '../store/index.js';

const LOOK_EVERY_MS = 60_000;
/** One process at a time makes one; an attempt that failed is made again after so long. */
const ATTEMPT_EVERY_MS = 30 * 60_000;

/**
 * Makes a backup a day in BACKUP_DIR and removes those whose time is over. Whether one is due is read from the folder:
 * a time that was missed is made up for at the next start, and any number of processes make one backup. Stopping waits
 * for one that is being written.
 */
export class BackupSchedule implements OnApplicationBootstrap, BeforeApplicationShutdown {
  private readonly log = new Logger('BackupSchedule');
  private timer: NodeJS.Timeout | undefined;
  private running: Promise<unknown> = Promise.resolve();

  constructor(
    private readonly settings: Settings,
    private readonly turns: Turns,
    private readonly clock: Clock,
  ) {}

  onApplicationBootstrap(): void {
    if (this.settings.backup.dir === undefined) return;
    this.timer = setInterval(() => {
      this.running = this.running.then(() => this.look());
    }, LOOK_EVERY_MS);
    this.timer.unref();
  }

  async beforeApplicationShutdown(): Promise<void> {
    clearInterval(this.timer);
    await this.running;
  }

  /** Makes the backup that is due, if one is. Returns its path. */
  async look(): Promise<string | undefined> {
    const { dir, at, keepDays, recipients, passphrase } = this.settings.backup;
    if (dir === undefined) return undefined;
    const now = this.clock.now();
    try {
      const [newest] = await keptIn(dir);
      if (newest && newest.madeAt >= lastDueAt(now, at)) return undefined;
      if (!(await this.turns.take('backup', ATTEMPT_EVERY_MS))) return undefined;
      const lock = { recipients, passphrase };
      const made = await makeBackup({ settings: this.settings, folder: dir, lock, now });
      const gone = await forgetExpired(dir, now, keepDays);
      this.log.log(`Wrote the backup ${made.path} (${made.bytes} bytes); removed ${gone.length} old ones.`);
      return made.path;
    } catch (error) {
      this.log.error(`The daily backup failed: ${(error as Error).message}`);
      return undefined;
    }
  }
}
