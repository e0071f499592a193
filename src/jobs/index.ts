export { EmbeddedDispatcher } from './embedded-dispatcher.js';
export { JobsModule } from './jobs.module.js';
