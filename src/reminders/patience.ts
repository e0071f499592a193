/**
 * How long a sending may take: so long until it is handed over, then longer for the answer. Giving up on a server that
 * already has the mail means sending it twice (RFC 5321, section 4.5.3.2.6, says so of this very wait).
 */
export class Patience {
  private readonly controller = new AbortController();
  private timer: NodeJS.Timeout;

  /** Both in milliseconds. */
  constructor(
    sendWithinMs: number,
    private readonly answerWithinMs: number,
  ) {
    this.timer = this.endIn(sendWithinMs);
  }

  /** Aborted once patience is at an end. */
  get signal(): AbortSignal {
    return this.controller.signal;
  }

  /** All of it has been handed over; only the answer is still to come. */
  handedOver(): void {
    if (this.signal.aborted) return;
    clearTimeout(this.timer);
    this.timer = this.endIn(this.answerWithinMs);
  }

  /** The sending has ended: nothing more will be cut short. */
  over(): void {
    clearTimeout(this.timer);
  }

  private endIn(ms: number): NodeJS.Timeout {
    return setTimeout(() => this.controller.abort(new DOMException('Out of patience', 'TimeoutError')), ms);
  }
}
