import { Injectable } from '@nestjs/common';
import type { EntityManager } from 'typeorm';
import { Clock } from '../base/index.js';
import { Client } from '../clients/index.js';
import { rootsColouredOn } from '../colour/index.js';
import {
  type CutShape,
  cutShape,
  Formulas,
  type GrowthAdjusted,
  GrowthProfiles,
  headOptions,
  type WholeFormula,
} from '../cuts/index.js';
import type { GrowthProfile, Why } from '../engine/growth/index.js';
import {
  explainWindow,
  packWindow,
  type RebookingWindow,
  rebookingWindow,
  type WindowBatch,
  type WindowInput,
} from '../engine/plan/index.js';
import type { Zone } from '../engine/zones.js';
import { newId } from '../store/index.js';
import { type Coloured, engineLimit } from './engine-limits.js';
import { ShapeWindow } from './entities.js';

/** What the engine computes a window from: a whole formula, a growth profile and its shape (on the mean head, unless given). */
function windowInput(
  whole: WholeFormula,
  profile: GrowthProfile,
  cutOn: string,
  shape: CutShape = cutShape({}, whole),
  coloured?: Coloured,
): WindowInput {
  return {
    profile,
    cutOn,
    zones: whole.lengths.map(({ zone, leftMm, leftSdMm, leftOn }) => ({ zone, leftMm, leftSdMm, leftOn })),
    limits: whole.limits.map((row) => engineLimit(row, whole.lengths, shape, coloured)),
  };
}

/** The window of a formula; pure. */
export function windowOf(...parts: Parameters<typeof windowInput>): RebookingWindow {
  return rebookingWindow(windowInput(...parts));
}

/** The columns of a stored window that come out of the computation. */
export function windowColumns(
  ...parts: Parameters<typeof windowInput>
): Pick<ShapeWindow, 'cutOn' | 'earliestOn' | 'dueOn' | 'latestOn' | 'firstZone' | 'reason' | 'packed'> {
  const input = windowInput(...parts);
  const { earliestOn, dueOn, latestOn, first } = rebookingWindow(input);
  return {
    cutOn: input.cutOn,
    earliestOn,
    dueOn,
    latestOn,
    firstZone: first.zone,
    reason: first.reason,
    packed: Buffer.from(packWindow(input).buffer).toString('base64'),
  };
}

/** The engine's rows behind stored windows, decoded straight into one array: no garbage, however large the book. */
export function batchOfStored(windows: readonly Pick<ShapeWindow, 'packed'>[]): WindowBatch {
  const starts = new Uint32Array(windows.length);
  let numbers = 0;
  for (const [i, { packed }] of windows.entries()) {
    starts[i] = numbers;
    numbers += Buffer.byteLength(packed, 'base64') / Float64Array.BYTES_PER_ELEMENT;
  }
  const rows = new Float64Array(numbers);
  const bytes = Buffer.from(rows.buffer);
  for (const [i, { packed }] of windows.entries()) {
    bytes.write(packed, (starts[i] ?? 0) * Float64Array.BYTES_PER_ELEMENT, 'base64');
  }
  return { rows, starts };
}

/** Days of colour behind the root bands among the limits; asked only where there are any. */
async function rootsColoured(
  manager: EntityManager,
  clientId: string,
  { limits }: Pick<WholeFormula, 'limits'>,
): Promise<Coloured> {
  const coloured = new Map<Zone, string>();
  for (const { kind, zone } of limits) {
    if (kind !== 'root-band') continue;
    const on = await rootsColouredOn(manager, clientId, zone);
    if (on !== undefined) coloured.set(zone, on);
  }
  return coloured;
}

/** When clients should come back: computed by the engine, kept as one row a client for lists over the whole book. */
@Injectable()
export class Windows {
  constructor(
    private readonly clock: Clock,
    private readonly formulas: Formulas,
    private readonly profiles: GrowthProfiles,
  ) {}

  /** The window of what stands on the client's head; undefined without a cut or without hold limits. */
  async compute(manager: EntityManager, clientId: string): Promise<RebookingWindow | undefined> {
    const parts = await this.parts(manager, clientId);
    return parts && windowOf(...parts);
  }

  /** The same with everything behind its dates; `known` spares what was loaded already. */
  async explained(
    manager: EntityManager,
    clientId: string,
    known?: GrowthAdjusted,
  ): Promise<{ readonly window: RebookingWindow; readonly why: Why } | undefined> {
    const parts = await this.parts(manager, clientId, known);
    if (!parts) return undefined;
    const input = windowInput(...parts);
    const window = rebookingWindow(input);
    return { window, why: explainWindow(input, window) };
  }

  /**
   * Rewrites the stored window. To be called, in the same unit of work, by whatever changes a cut, a measurement,
   * a growth profile or a hold limit; the row is never older than what it was computed from.
   */
  async refresh(manager: EntityManager, clientId: string): Promise<ShapeWindow | undefined> {
    await manager.delete(ShapeWindow, { clientId });
    const parts = await this.parts(manager, clientId);
    if (!parts) return undefined;
    const [whole] = parts;
    const row = manager.create(ShapeWindow, {
      id: newId(),
      salonId: whole.formula.salonId,
      clientId,
      formulaId: whole.formula.id,
      ...windowColumns(...parts),
      computedAt: this.clock.now(),
    });
    await manager.insert(ShapeWindow, row);
    return row;
  }

  /** The stored window. */
  async of(manager: EntityManager, clientId: string): Promise<ShapeWindow | undefined> {
    return (await manager.findOneBy(ShapeWindow, { clientId })) ?? undefined;
  }

  private async parts(
    manager: EntityManager,
    clientId: string,
    known?: GrowthAdjusted,
  ): Promise<Parameters<typeof windowInput> | undefined> {
    const whole = known?.whole ?? (await this.formulas.current(manager, clientId));
    if (!whole?.formula.cutOn || whole.limits.length === 0) return undefined;
    const client = known ? null : await manager.findOneBy(Client, { id: clientId });
    const profile = known?.profile ?? (await this.profiles.ofLoaded(manager, clientId, client));
    const coloured = await rootsColoured(manager, clientId, whole);
    const shape = cutShape(known?.head ?? headOptions(client), whole);
    return [whole, profile, whole.formula.cutOn, shape, coloured];
  }
}
