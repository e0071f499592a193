import { AsyncLocalStorage } from 'node:async_hooks';

/** One for all: Node carries every storage there is along with every promise that is made. */
const storage = new AsyncLocalStorage<ReadonlyMap<object, unknown>>();

/** A value for all that a call brings about, however long it takes, and for nothing else. */
export class AsyncContext<T> {
  /** Undefined outside every `run`. */
  get value(): T | undefined {
    return storage.getStore()?.get(this) as T | undefined;
  }

  run<R>(value: T, work: () => R): R {
    return storage.run(new Map(storage.getStore()).set(this, value), work);
  }
}
