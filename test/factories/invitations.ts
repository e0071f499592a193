import { type Channel, Consent, type Purpose } from '../../src/clients/index.js';
import { CutFormula } from '../../src/cuts/index.js';
import { ShapeWindow } from '../../src/rebooking/index.js';
import { Message, MessageRules } from '../../src/reminders/index.js';
import { newId } from '../../src/store/index.js';
import { type KeepingSender, partsOf, type TestDesk } from './reminders.js';

/** What invitations hang on, written for the client of the desk that stands there at the time, and what comes of it. */
export function askedOf(deskNow: () => TestDesk, senderNow: () => KeepingSender) {
  async function answer(
    purpose: Purpose,
    given: boolean,
    channel: Channel = 'mail',
    clientId = deskNow().client.id,
  ): Promise<void> {
    const desk = deskNow();
    const asked = { clientId, channel, purpose, given, source: 'desk', recordedById: null };
    await desk.units.run((manager) =>
      manager.insert(Consent, { id: newId(), at: desk.clock.now(), ...asked }),
    );
  }

  async function rule(changes: Partial<MessageRules>): Promise<void> {
    const desk = deskNow();
    await desk.units.run((manager) =>
      manager.insert(MessageRules, {
        version: 1,
        reminderHours: [48],
        ...changes,
        id: newId(),
        salonId: desk.salon.id,
      }),
    );
  }

  /** A shape that was cut and is due in the given days of June 2026; says which formula. */
  async function shape(earliest: number, latest: number, clientId = deskNow().client.id): Promise<string> {
    const desk = deskNow();
    const formulaId = newId();
    await desk.units.run(async (manager) => {
      await manager.insert(CutFormula, {
        id: formulaId,
        salonId: desk.salon.id,
        clientId,
        name: 'Short back',
        cutOn: '2026-04-20',
      } as CutFormula);
      await manager.delete(ShapeWindow, { clientId });
      const on = (day: number) => `2026-06-${String(day).padStart(2, '0')}`;
      await manager.insert(ShapeWindow, {
        id: newId(),
        salonId: desk.salon.id,
        clientId,
        formulaId,
        earliestOn: on(earliest),
        dueOn: on(earliest + 3),
        latestOn: on(latest),
        firstZone: 'nape',
        reason: 'the nape has grown by 15 mm',
        computedAt: desk.clock.now(),
        packed: '',
        cutOn: '2026-04-20',
      });
    });
    return formulaId;
  }

  const all = () => deskNow().reader.manager.find(Message, { order: { id: 'ASC' } });
  const upkeep = () => partsOf(deskNow(), senderNow()).upkeep.run();
  const deliver = () => partsOf(deskNow(), senderNow()).dispatcher.deliverDue();

  return { answer, rule, shape, all, upkeep, deliver };
}
