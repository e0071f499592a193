export { BackupSchedule } from './backup-schedule.js';
export { EmbeddedDispatcher } from './embedded-dispatcher.js';
export { JobsModule, WorkerModule } from './jobs.module.js';
export { MetricsServer } from './metrics-server.js';
