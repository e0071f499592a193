/** Where the time comes from. Injected, so that a test or the demo can stand at any instant. */
export abstract class Clock {
  /** Milliseconds since 1970 in UTC. */
  abstract now(): number;
}

export class SystemClock extends Clock {
  now(): number {
    return Date.now();
  }
}

/** A clock that stands still until it is set. */
export class FixedClock extends Clock {
  constructor(public at: number) {
    super();
  }

  now(): number {
    return this.at;
  }
}
