import type { NestFastifyApplication } from '@nestjs/platform-fastify';

export type HeardEvent = { readonly id: string; readonly event: string; readonly data: unknown };

export type LiveStream = {
  /** The next event; rejects when none comes within two seconds. */
  next(): Promise<HeardEvent>;
  /** Events that have come and were not asked for. */
  readonly waiting: readonly HeardEvent[];
  /** Resolves when the server has ended the answer. */
  readonly ended: Promise<void>;
  leave(): void;
};

/** Written after the parsing rules of the HTML standard, 9.2.6, for the fields that are used here. */
function eventOf(block: string): HeardEvent | undefined {
  const fields = new Map(
    block
      .split('\n')
      .filter((line) => line !== '' && !line.startsWith(':'))
      .map((line): [string, string] => {
        const colon = line.indexOf(':');
        return [line.slice(0, colon), line.slice(colon + 1).replace(/^ /, '')];
      }),
  );
  const data = fields.get('data');
  return data === undefined
    ? undefined
    : { id: fields.get('id') ?? '', event: fields.get('event') ?? 'message', data: JSON.parse(data) };
}

/** Follows a salon's book over HTTP as a browser would. */
export async function followBook(
  app: Pick<NestFastifyApplication, 'getUrl'>,
  path: string,
  token: string,
  headers: Readonly<Record<string, string>> = {},
): Promise<{ readonly status: number; readonly type: string; readonly stream: LiveStream }> {
  const stop = new AbortController();
  const answer = await fetch(`${await app.getUrl()}${path}`, {
    headers: { cookie: `halfinch=${token}`, accept: 'text/event-stream', ...headers },
    redirect: 'manual',
    signal: stop.signal,
  });
  const waiting: HeardEvent[] = [];
  let wake: () => void = () => undefined;
  const read = async () => {
    let text = '';
    const decoder = new TextDecoder();
    try {
      for await (const chunk of answer.body ?? []) {
        text += decoder.decode(chunk as Uint8Array, { stream: true });
        const blocks = text.split('\n\n');
        text = blocks.pop() ?? '';
        waiting.push(...blocks.flatMap((block) => eventOf(block) ?? []));
        wake();
      }
    } catch (error) {
      if (!stop.signal.aborted) throw error;
    }
  };
  const ended = read();
  const next = async (): Promise<HeardEvent> => {
    const first = waiting.shift();
    if (first) return first;
    await new Promise<void>((resolve, reject) => {
      const late = setTimeout(() => reject(new Error('No event came.')), 25_000);
      wake = () => {
        clearTimeout(late);
        resolve();
      };
    });
    return await next();
  };
  return {
    status: answer.status,
    type: answer.headers.get('content-type') ?? '',
    stream: { next, waiting, ended, leave: () => stop.abort() },
  };
}
