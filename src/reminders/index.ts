export { type DispatchPolicy, USUAL_POLICY } from './dispatch-policy.js';
export { type Delivery, Dispatcher, type DispatchTally } from './dispatcher.js';
export * from './entities.js';
export { type MessageLine, Messages } from './messages.js';
export { RemindersModule } from './reminders.module.js';
export { TextReply, TextReport, TextReports } from './text-reports.js';
export { Unsubscribe, type UnsubscribeOffer } from './unsubscribe.js';
export { Upkeep } from './upkeep.js';
