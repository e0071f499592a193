type Waiting<In, Out> = {
  readonly item: In;
  readonly resolve: (out: Out) => void;
  readonly reject: (error: unknown) => void;
};

const MOST = 200;
const nextTurn = () => new Promise<void>((turn) => setImmediate(turn));

/**
 * Lets many callers share the work of one: what comes while a batch is under way waits and goes into the next.
 * One caller alone waits for nobody. When a batch fails, each of its items is tried alone, so that only those
 * who cause trouble hear of it; so `work` must leave nothing behind when it throws.
 * `work` answers in the order of its items.
 *
 * With `gatherMs` a batch waits that long at most, in milliseconds, for as many items as the batch before had: callers who
 * were let go on together come back one by one, and would otherwise fall apart into batches of one and of the rest.
 */
export class InBatches<In, Out> {
  private waiting: Waiting<In, Out>[] = [];
  private busy = false;
  private before = 1;
  private enough: (() => void) | undefined;

  constructor(
    private readonly work: (items: readonly In[]) => Promise<readonly Out[]>,
    private readonly gatherMs = 0,
  ) {}

  async do(item: In): Promise<Out> {
    return await new Promise<Out>((resolve, reject) => {
      this.waiting.push({ item, resolve, reject });
      if (this.waiting.length >= this.before) this.enough?.();
      if (!this.busy) {
        this.busy = true;
        void this.drain();
      }
    });
  }

  private async drain(): Promise<void> {
    while (this.waiting.length > 0) {
      // Callers that come in the same turn, and those whom the batch before let go on, share this one.
      await nextTurn();
      if (this.gatherMs > 0) await this.gathered();
      const batch = this.waiting.splice(0, MOST);
      this.before = batch.length;
      if (!(await this.attempt(batch))) for (const one of batch) await this.attempt([one], true);
    }
    this.busy = false;
  }

  private async gathered(): Promise<void> {
    if (this.waiting.length >= this.before) return;
    await new Promise<void>((gone) => {
      const timer = setTimeout(gone, this.gatherMs);
      this.enough = () => {
        clearTimeout(timer);
        gone();
      };
    });
    this.enough = undefined;
    // Who is a moment later still comes along.
    await nextTurn();
  }

  private async attempt(batch: readonly Waiting<In, Out>[], last = batch.length === 1): Promise<boolean> {
    try {
      const outs = await this.work(batch.map(({ item }) => item));
      for (const [i, { resolve }] of batch.entries()) resolve(outs[i] as Out);
      return true;
    } catch (error) {
      if (last) for (const { reject } of batch) reject(error);
      return last;
    }
  }
}
