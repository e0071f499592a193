export { type DispatchPolicy, USUAL_POLICY } from './dispatch-policy.js';
export { Dispatcher } from './dispatcher.js';
export * from './entities.js';
export { type MessageLine, Messages } from './messages.js';
export { RemindersModule } from './reminders.module.js';
