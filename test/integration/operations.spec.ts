import { connect } from 'node:net';
import { afterAll, beforeAll, describe, expect, it, jest } from '@jest/globals';
import { Logger } from '@nestjs/common';
import { QueryFailedError } from 'typeorm';
import { Metrics, problemOf } from '../../src/http/index.js';
import { MetricsServer } from '../../src/jobs/index.js';
import { SETTINGS, type Settings } from '../../src/store/index.js';
import { startTestApp, type TestApp } from '../factories/app.js';
import { MARKS, type Marked, plantMarked } from '../factories/security.js';

jest.setTimeout(120_000);

describe('what the operator watches', () => {
  let test: TestApp;
  let marked: Marked;
  let metrics: MetricsServer;
  let figures: () => Promise<string>;

  beforeAll(async () => {
    test = await startTestApp();
    marked = await plantMarked(test);
    const settings = test.app.get<Settings>(SETTINGS, { strict: false });
    metrics = new MetricsServer(
      { ...settings, metrics: { host: '127.0.0.1', port: 0 } },
      test.app.get(Metrics, { strict: false }),
      test.reader,
      test.clock,
    );
    await metrics.onApplicationBootstrap();
    figures = async () => await (await fetch(`http://127.0.0.1:${metrics.port}/metrics`)).text();
  });
  afterAll(async () => {
    await metrics.beforeApplicationShutdown();
    await test.close();
  });

  it('is whether it lives and whether it is ready', async () => {
    for (const path of ['/health/live', '/health/ready']) {
      expect(await test.ask('nobody', 'GET', path)).toMatchObject({ status: 200, body: { status: 'ok' } });
    }
  });

  it('is counted for Prometheus by route, without anything of a person', async () => {
    await test.ask('stylist', 'GET', `/api/v1/clients/${marked.clientId}/visits`);
    await test.ask('nobody', 'GET', '/nowhere/at/all');
    const text = await figures();
    // Text format 0.0.4: every line is a comment or a name with labels, a space and a number.
    for (const line of text.split('\n').filter((one) => one !== '' && !one.startsWith('#'))) {
      expect(line).toMatch(
        /^[a-zA-Z_:][\w:]*(\{([a-zA-Z_]\w*="([^"\\\n]|\\.)*",?)*\})? (-?[\d.e+-]+|NaN|\+Inf)$/,
      );
    }
    expect(text).toMatch(
      /halfinch_http_request_seconds_count\{method="GET",route="[^"]*:[^"]*",status="\d+"\} 1/,
    );
    expect(text).toContain('route="none",status="404"');
    expect(text).toMatch(/^halfinch_messages_owed \d+$/m);
    expect(text).toMatch(/^halfinch_messages_overdue_seconds \d/m);
    expect(text).toMatch(/^process_cpu_user_seconds_total \d/m);
    for (const words of [...Object.values(MARKS), test.salon.id, marked.clientId])
      expect(text).not.toContain(String(words));
    expect(await (await fetch(`http://127.0.0.1:${metrics.port}/`)).text()).toBe('');
    expect((await test.ask('owner', 'GET', '/metrics')).status).toBe(404);
  });

  it('bears an id on every answer, the one of the log', async () => {
    const logged: string[] = [];
    const spy = jest.spyOn(Logger.prototype, 'warn').mockImplementation((message: unknown) => {
      logged.push(String(message));
    });
    try {
      const first = await test.app.inject({
        method: 'GET',
        url: '/health/live',
        headers: { 'x-request-id': 'x-1' },
      });
      const second = await test.app.inject({ method: 'GET', url: '/health/live' });
      const ids = [first, second].map(({ headers }) => String(headers['x-request-id']));
      // Whom no proxy stands surety for does not choose its own.
      for (const id of ids) expect(id).toMatch(/^[0-9a-f]{8}-[0-9a-f-]{27}$/);
      expect(new Set(ids).size).toBe(2);
      const session = await test.app.inject({
        method: 'POST',
        url: '/api/v1/sessions',
        payload: { email: 'desk@wren-tallow.example.org', password: 'correct horse battery' },
      });
      const refused = await test.app.inject({
        method: 'GET',
        url: `/api/v1/clients/${marked.clientId}/formula`,
        headers: { authorization: `Bearer ${session.json().token}` },
      });
      expect(refused.statusCode).toBe(403);
      expect(logged.join()).toContain(String(refused.headers['x-request-id']));
    } finally {
      spy.mockRestore();
    }
  });

  it('is told of a full disk as such', () => {
    for (const code of ['SQLITE_FULL', '53100']) {
      const driver = Object.assign(new Error('no more'), { code });
      const problem = problemOf(new QueryFailedError('INSERT', [], driver));
      expect(problem).toMatchObject({ status: 507, code: 'SERVER.DISK_FULL' });
      expect(problem.detail).not.toContain('INSERT');
    }
  });

  it('stops only when a request that has begun is answered', async () => {
    const other = await startTestApp();
    await other.app.listen(0, '127.0.0.1');
    const { port } = new URL(await other.app.getUrl());
    const socket = connect(Number(port), '127.0.0.1');
    let answer = '';
    socket.on('data', (chunk) => {
      answer += chunk.toString();
    });
    const ended = new Promise<void>((over) => socket.once('close', () => over()));
    const body = JSON.stringify({ email: 'desk@wren-tallow.example.org', password: 'correct horse battery' });
    const arrived = new Promise<void>((come) => other.app.getHttpServer().once('request', () => come()));
    socket.write(
      `POST /api/v1/sessions HTTP/1.1\r\nhost: x\r\ncontent-type: application/json\r\ncontent-length: ${body.length}\r\n\r\n`,
    );
    await arrived;
    const closed = other.close();
    await new Promise((later) => setTimeout(later, 50));
    socket.write(body);
    await closed;
    await ended;
    expect(answer).toMatch(/^HTTP\/1\.1 20[01] /);
    expect(answer).toContain('"token"');
  });
});
