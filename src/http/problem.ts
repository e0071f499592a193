import { HttpException } from '@nestjs/common';
import { DomainError, type DomainErrorKind, type FieldProblem } from '../base/index.js';
import { EngineError } from '../engine/errors.js';

/** What is told to the one who asked, whatever went wrong: RFC 9457 members plus the offending fields. */
export type Problem = {
  readonly status: number;
  readonly code: string;
  readonly title: string;
  readonly detail: string;
  readonly fields: readonly FieldProblem[];
  readonly details: Readonly<Record<string, unknown>>;
};

const STATUS: Record<DomainErrorKind, number> = {
  invalid: 422,
  'not-found': 404,
  conflict: 409,
  forbidden: 403,
  refused: 409,
};

/** Codes that say more about the status than their kind does. */
const STATUS_BY_CODE: Readonly<Record<string, number>> = {
  'SIGN_IN.NEEDED': 401,
  'SIGN_IN.REFUSED': 401,
  'SIGN_IN.CODE_NEEDED': 401,
  'SIGN_IN.SLOW': 429,
  'REQUESTS.TOO_MANY': 429,
  'PRECONDITION.FAILED': 412,
};

const TITLES: Record<number, string> = {
  400: 'That could not be read',
  401: 'Please sign in',
  403: 'Not allowed',
  404: 'Not found',
  405: 'Not possible here',
  409: 'That cannot be done now',
  412: 'Changed in the meantime',
  413: 'Too large',
  415: 'Not a kind of content this accepts',
  422: 'Please check what you entered',
  429: 'Too many requests',
  500: 'Something went wrong on our side',
  503: 'Not just now',
  507: 'The disk is full',
};

/**
 * What a database says that will soon say otherwise: locked or stopped for taking too long, shutting down, starting,
 * out of connections (PostgreSQL, appendix A), gone from the network, or busy (SQLite).
 */
const PASSING =
  /^(55P03|57014|57P0[123]|53[0-9A-Z]{3}|08[0-9A-Z]{3}|SQLITE_BUSY|SQLITE_LOCKED|E(CONNREFUSED|CONNRESET|PIPE|TIMEDOUT))$/;
const PASSING_WORDS = /Connection terminated|timeout exceeded when trying to connect|Client has encountered/;
const RETRY_SECONDS = 2;

function isPassing(error: unknown): boolean {
  const { code, message, driverError } = error as {
    readonly code?: unknown;
    readonly message?: unknown;
    readonly driverError?: unknown;
  };
  if (typeof code === 'string' && PASSING.test(code)) return true;
  if (typeof message === 'string' && PASSING_WORDS.test(message)) return true;
  return driverError instanceof Error && driverError !== error && isPassing(driverError);
}

/** Nothing more fits, or the disk takes nothing any more: the operator's to put right. */
const UNWRITABLE = /^(SQLITE_FULL|SQLITE_READONLY|SQLITE_IOERR|ENOSPC|EDQUOT|EROFS|53100)$/;

function isUnwritable(error: unknown): boolean {
  const { code, driverError } = error as { readonly code?: unknown; readonly driverError?: unknown };
  if (typeof code === 'string' && UNWRITABLE.test(code)) return true;
  return driverError instanceof Error && driverError !== error && isUnwritable(driverError);
}

function problem(status: number, code: string, detail: string, extra: Partial<Problem> = {}): Problem {
  return {
    status,
    code,
    title: TITLES[status] ?? 'That did not work',
    detail,
    fields: [],
    details: {},
    ...extra,
  };
}

/** Fastify and its plugins throw errors that carry their status. */
function statusOf(error: unknown): number | undefined {
  const status = (error as { statusCode?: unknown } | null)?.statusCode;
  return typeof status === 'number' && status >= 400 && status < 500 ? status : undefined;
}

const PLAIN_WORDS: Record<string, string> = {
  FST_ERR_CTP_BODY_TOO_LARGE:
    'What was sent (the request body) is larger than this accepts. Please send less at once.',
  FST_ERR_CTP_INVALID_MEDIA_TYPE: 'Please send JSON or a form.',
  FST_ERR_CTP_EMPTY_JSON_BODY: 'The request body is empty; JSON was expected.',
  FST_ERR_CTP_INVALID_JSON_BODY: 'The request body is not valid JSON.',
  FST_ERR_CTP_INVALID_CONTENT_LENGTH: 'The request body is not as long as its header says.',
  FST_ERR_BAD_URL: 'This address cannot be read. Please check it.',
  FST_ERR_MAX_PARAM_LENGTH: 'This address is too long.',
  FST_CSRF_MISSING_SECRET: 'This page was open too long or cookies are off. Please reload it and try again.',
  FST_CSRF_INVALID_TOKEN: 'This page was open too long. Please reload it and try again.',
};

/** Turns any error into a problem; what is not understood becomes a 500 that says nothing of its cause. */
export function problemOf(error: unknown): Problem {
  if (error instanceof DomainError) {
    const status = STATUS_BY_CODE[error.code] ?? STATUS[error.kind];
    return problem(status, error.code, error.message, { fields: error.fields, details: error.details });
  }
  if (error instanceof EngineError) {
    const where = error.step === undefined ? '' : `Step ${error.step}: `;
    const message = `${where}${error.message}`;
    return problem(422, error.code, message, { fields: [{ field: error.field, message }] });
  }
  if (error instanceof HttpException) {
    // Nest wraps what Fastify and its plugins throw; the code is on the inside.
    if (statusOf(error.cause) !== undefined) return problemOf(error.cause);
    const status = error.getStatus();
    if (status < 500) return problem(status, `HTTP.${status}`, error.message);
  }
  const status = statusOf(error);
  if (status !== undefined) {
    const { code, message } = error as { code?: string; message?: string };
    return problem(
      status,
      code !== undefined && code in PLAIN_WORDS ? code : `HTTP.${status}`,
      PLAIN_WORDS[code ?? ''] ?? message ?? TITLES[status] ?? '',
    );
  }
  if (error instanceof Error && isUnwritable(error)) {
    const detail =
      'The disk of the server takes nothing more. Nothing of this request was kept: tell whoever looks after it.';
    return problem(507, 'SERVER.DISK_FULL', detail);
  }
  if (error instanceof Error && isPassing(error)) {
    const detail =
      'The database cannot be asked just now. Nothing of this request was kept: please try again.';
    return problem(503, 'SERVER.BUSY', detail, { details: { retryAfterSeconds: RETRY_SECONDS } });
  }
  return problem(500, 'SERVER.ERROR', 'It has been written to the log. Nothing of this request was kept.');
}
