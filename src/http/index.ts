export { AccessGuard } from './access.guard.js';
export { By, NEEDS, Needs, OPEN, Open, Who } from './context.js';
export { type PageData, renderPage } from './pages.js';
export { type Problem, problemOf } from './problem.js';
export { createServer, projectRoot, SESSION_COOKIE } from './server.js';
