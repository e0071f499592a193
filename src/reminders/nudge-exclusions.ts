import { Injectable } from '@nestjs/common';
import type { EntityManager } from 'typeorm';

/** Clients of a salon whom a later room wants left without nudges. */
export type NudgeExclusion = {
  /** SQL over the column of a client's id that is true for them; undefined for none of this salon. */
  readonly sql: (manager: EntityManager, salonId: string, column: string) => Promise<string | undefined>;
  readonly leavesOut: (manager: EntityManager, salonId: string, clientId: string) => Promise<boolean>;
};

/**
 * Asked before anybody is nudged; later rooms register when their module starts. What is about a client's own
 * appointments is no nudge.
 */
@Injectable()
export class NudgeExclusions {
  private readonly exclusions: NudgeExclusion[] = [];

  register(exclusion: NudgeExclusion): void {
    this.exclusions.push(exclusion);
  }

  /** Conditions of which none may be true. */
  async sql(manager: EntityManager, salonId: string, column: string): Promise<string[]> {
    const found: string[] = [];
    for (const one of this.exclusions) {
      const sql = await one.sql(manager, salonId, column);
      if (sql !== undefined) found.push(sql);
    }
    return found;
  }

  async leavesOut(manager: EntityManager, salonId: string, clientId: string): Promise<boolean> {
    for (const one of this.exclusions) if (await one.leavesOut(manager, salonId, clientId)) return true;
    return false;
  }
}
