export { AccessGuard } from './access.guard.js';
export { By, Needs, Open, Who } from './context.js';
export { cookieName, DESK_COOKIE, giveToken, SESSION_COOKIE, takeToken } from './cookies.js';
export { ErrorFilter } from './error.filter.js';
export { leaveNotice } from './notice.js';
export { type Host, type PageData, renderGuestPage, renderPage } from './pages.js';
export { type Problem, problemOf } from './problem.js';
export { createServer } from './server.js';
export { PHOTO_FIELD, TakesPhoto } from './uploads.js';
