/** Stable codes of what the engine refuses. The words may change, the codes may not. */
export type EngineErrorCode =
  | 'ENGINE.NOT_A_NUMBER'
  | 'ENGINE.OUT_OF_RANGE'
  | 'ENGINE.UNKNOWN_ZONE'
  | 'ENGINE.IMPOSSIBLE';

/**
 * Input the engine cannot compute with. `field` names the offending value the way the caller passed it
 * and `step` the position in an ordered formula, counted from 1, where there is one.
 */
export class EngineError extends Error {
  override readonly name = 'EngineError';

  constructor(
    readonly code: EngineErrorCode,
    readonly field: string,
    message: string,
    readonly step?: number,
  ) {
    super(message);
  }
}

/** Returns `value`, or throws ENGINE.NOT_A_NUMBER / ENGINE.OUT_OF_RANGE naming `field`. Bounds are inclusive. */
export function requireNumber(value: number, field: string, min: number, max: number, step?: number): number {
  if (!Number.isFinite(value)) {
    throw new EngineError('ENGINE.NOT_A_NUMBER', field, `${field} must be a finite number.`, step);
  }
  if (value < min || value > max) {
    throw new EngineError('ENGINE.OUT_OF_RANGE', field, `${field} must lie between ${min} and ${max}.`, step);
  }
  return value;
}
