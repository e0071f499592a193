export { EmbeddedDispatcher } from './embedded-dispatcher.js';
export { JobsModule, WorkerModule } from './jobs.module.js';
