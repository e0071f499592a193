export { AccessGuard } from './access.guard.js';
export { By, NEEDS, Needs, OPEN, Open, Who } from './context.js';
export { cookieName, DESK_COOKIE, giveToken, SESSION_COOKIE, takeToken } from './cookies.js';
export { leaveNotice } from './notice.js';
export { type PageData, renderPage } from './pages.js';
export { type Problem, problemOf } from './problem.js';
export { type DeclaredRoute, declaredRoutes } from './routes.js';
export { createServer, projectRoot } from './server.js';
