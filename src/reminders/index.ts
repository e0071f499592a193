export { DISPATCH_POLICY, type DispatchPolicy, USUAL_POLICY } from './dispatch-policy.js';
export { Dispatcher, type DispatchTally } from './dispatcher.js';
export * from './entities.js';
export { type MessageLine, MessageQuery, Messages } from './messages.js';
export { RemindersModule } from './reminders.module.js';
