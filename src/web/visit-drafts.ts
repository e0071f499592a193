import { Injectable } from '@nestjs/common';
import { DomainError } from '../base/index.js';
import { type Draft, Drafts, type DraftVersion } from '../cuts/index.js';
import type { Actor } from '../identity/index.js';
import { momentText } from './days.js';
import { typedValues } from './forms.js';
import type { Sitting } from './visit-sittings.js';
import { stepKeys, type Values } from './visit-steps.js';
import { ZONE_WORDS } from './words.js';

/** Boxes of the form that are not part of what is being recorded. */
const ABOUT_THE_FORM: readonly string[] = ['do', 'draftVersion'];
const DIFFERENCES_SHOWN = 12;
const NOBODY = 'system';

export type Difference = { readonly name: string; readonly theirs: string; readonly yours: string };

/** Somebody saved the same visit meanwhile. */
export type Conflict = {
  readonly words: string;
  readonly differs: readonly Difference[];
  readonly more: number;
  /** What the next save goes on top of; empty when the visit was closed meanwhile. */
  readonly version: string;
};

export type Saved = { readonly version: string } | { readonly conflict: Conflict };

/** What was being recorded of a visit, as the form's values. */
@Injectable()
export class VisitDrafts {
  constructor(private readonly drafts: Drafts) {}

  async of(sitting: Sitting): Promise<Draft> {
    return await this.drafts.get(keyOf(sitting));
  }

  /**
   * Saves the form on top of the version it was opened with. Where somebody saved since, it is kept beside theirs and
   * told. `isSent` says that the form itself was sent: its own script may then have saved a moment before.
   */
  async save(sitting: Sitting, values: Values, actor: Actor, isSent = false): Promise<Saved> {
    const body = { values: recordedOf(values) };
    const read = Number(values['draftVersion'] ?? '') || null;
    const save = async (expected: number | null) => ({
      version: String((await this.drafts.save(keyOf(sitting), body, expected, actor)).version),
    });
    try {
      return await save(read);
    } catch (error) {
      if (!(error instanceof DomainError) || error.code !== 'DRAFT.STALE') throw error;
      const theirs = error.details['theirs'] as DraftVersion | null;
      if (isSent && read !== null && theirs?.savedById === actor.accountId) return await save(theirs.version);
      return { conflict: conflictOf(error.message, theirs, values, sitting) };
    }
  }

  /** What another stylist saved that this form has not seen; undefined when there is nothing to look at first. */
  async unseen(sitting: Sitting, values: Values, actor: Actor): Promise<Conflict | undefined> {
    const { draft } = await this.of(sitting);
    if (!draft || draft.savedById === actor.accountId || String(draft.version) === values['draftVersion']) {
      return undefined;
    }
    const words = `${draft.savedBy ?? 'Somebody'} is recording this visit too. Look at what differs, then complete it.`;
    return conflictOf(words, draft, values, sitting);
  }

  async drop(sitting: Sitting, actor: Actor): Promise<void> {
    await this.drafts.drop(keyOf(sitting), actor);
  }
}

function keyOf({ client, appointment }: Sitting) {
  return { clientId: client.id, appointmentId: appointment.id };
}

function recordedOf(values: Values): Values {
  return Object.fromEntries(Object.entries(values).filter(([field]) => !ABOUT_THE_FORM.includes(field)));
}

/** The form's values of a stored draft. */
export function draftValues({ body }: DraftVersion): Record<string, string> {
  return typedValues(body['values']);
}

function conflictOf(words: string, theirs: DraftVersion | null, values: Values, sitting: Sitting): Conflict {
  const differs = theirs ? differences(draftValues(theirs), recordedOf(values)) : [];
  const at = theirs && momentText(theirs.savedAt, sitting.salon.zone, sitting.spoken);
  return {
    words: at ? `${words} (${at})` : words,
    differs: differs.slice(0, DIFFERENCES_SHOWN),
    more: Math.max(0, differs.length - DIFFERENCES_SHOWN),
    version: theirs ? String(theirs.version) : '',
  };
}

function differences(theirs: Values, yours: Values): Difference[] {
  const fields = [...new Set([...Object.keys(theirs), ...Object.keys(yours)])];
  return fields.flatMap((field) => {
    const [a = '', b = ''] = [theirs[field], yours[field]];
    if (a === b || /^(step|limit)\.\w+$/.test(field)) return [];
    return [{ name: boxName(field, yours), theirs: a || 'empty', yours: b || 'empty' }];
  });
}

const PLAIN_NAMES: Readonly<Record<string, string>> = {
  formulaName: 'Shape',
  formulaNotes: 'Notes on the cut',
  notes: 'Notes on the visit',
  price: 'Price',
  productLine: 'Product line',
  measuredWith: 'Measured with',
  basedOnId: 'Started from',
  arrival: 'on arrival',
  held: 'how it had held',
  done: 'today',
  left: 'left at',
  wanted: 'wanted',
};

/** "sectionDepth" as words: "section depth". */
function spaced(camel: string): string {
  return camel.replace(/Deg$/, '').replace(/[A-Z]/g, (letter) => ` ${letter.toLowerCase()}`);
}

function boxName(field: string, values: Values): string {
  const [kind = '', key = '', part = ''] = field.split('.');
  if (kind === 'step') {
    const place = stepKeys(values).indexOf(key);
    return `${place < 0 ? 'A further step' : `Step ${place + 1}`}, ${spaced(part)}`;
  }
  if (kind === 'limit') return `Hold limit, ${part}`;
  const zone = ZONE_WORDS[key as keyof typeof ZONE_WORDS];
  return zone ? `${zone}, ${PLAIN_NAMES[kind] ?? kind}` : (PLAIN_NAMES[kind] ?? kind);
}

/** Drafts to take up again, the last one first, as the page offers them. */
export function offersOf({ draft, setAside }: Draft, { salon, spoken }: Sitting, accountId: string | null) {
  const offer = (one: DraftVersion, value: string) => ({
    value,
    words: `${one.savedById === accountId ? 'Yours' : (one.savedBy ?? 'Saved')} of ${momentText(one.savedAt, salon.zone, spoken)}`,
  });
  return [
    ...(draft ? [offer(draft, 'last')] : []),
    ...setAside.map((one) => offer(one, one.savedById ?? NOBODY)),
  ];
}

/** The draft that an address asks for; undefined when it is not there any more. */
export function draftAsked({ draft, setAside }: Draft, asked: string | undefined): DraftVersion | undefined {
  if (asked === undefined) return undefined;
  if (asked === 'last') return draft ?? undefined;
  return setAside.find(({ savedById }) => (savedById ?? NOBODY) === asked);
}
