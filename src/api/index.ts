export { ApiModule } from './api.module.js';
export { serveApiDescription } from './openapi.js';
