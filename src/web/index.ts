export { WebModule } from './web.module.js';
