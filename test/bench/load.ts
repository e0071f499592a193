import { Agent, get } from 'node:http';

/** Asked for by its parent: the address, who asks, how many at a time, for how long. */
type Wanted = {
  readonly url: string;
  readonly token: string;
  readonly atOnce: number;
  readonly milliseconds: number;
};

/** Asks for one page over connections that are kept, in a process of its own, and tells its parent how often it was answered. */
async function load({ url, token, atOnce, milliseconds }: Wanted): Promise<number> {
  const agent = new Agent({ keepAlive: true, maxSockets: atOnce });
  const ask = () =>
    new Promise<void>((answered, failed) => {
      get(url, { agent, headers: { authorization: `Bearer ${token}` } }, (answer) => {
        if (answer.statusCode !== 200) failed(new Error(`${url} was answered ${answer.statusCode}.`));
        answer.resume().on('end', answered);
      }).on('error', failed);
    });
  const end = performance.now() + milliseconds;
  let answers = 0;
  await Promise.all(
    Array.from({ length: atOnce }, async () => {
      while (performance.now() < end) {
        await ask();
        answers += 1;
      }
    }),
  );
  agent.destroy();
  return answers;
}

process.on('message', (wanted: Wanted) => {
  void load(wanted).then((answers) => process.send?.(answers));
});
