export { AccessGuard } from './access.guard.js';
export { By, NEEDS, Needs, OPEN, Open, Who } from './context.js';
export { leaveNotice } from './notice.js';
export { type PageData, renderPage } from './pages.js';
export { type Problem, problemOf } from './problem.js';
export { createServer, projectRoot, SESSION_COOKIE } from './server.js';
