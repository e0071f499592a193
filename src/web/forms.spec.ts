import { describe, expect, it } from '@jest/globals';
import { DomainError } from '../base/index.js';
import { problemOf } from '../http/index.js';
import { nested, refusedForm, typedValues } from './forms.js';

describe('forms', () => {
  it('takes plain text only, and of a repeated name the last', () => {
    expect(typedValues({ a: '1', b: ['2', '3'], c: 4, d: { e: 'f' } })).toEqual({
      a: '1',
      b: '3',
      c: '',
      d: '',
    });
    expect(typedValues('text')).toEqual({});
    expect(typedValues(null)).toEqual({});
  });

  it('groups dotted names', () => {
    expect(nested({ name: 'x', 'hair.age': 'y', 'hair.texture': '' })).toEqual({
      name: 'x',
      hair: { age: 'y', texture: '' },
    });
  });

  it('cannot be made to write on what every object shares', () => {
    nested(JSON.parse('{"__proto__.polluted":"yes","constructor.prototype":"x"}'));
    expect(({} as Record<string, unknown>)['polluted']).toBeUndefined();
  });

  it('keeps the first message of a field and says which fields the form shows', () => {
    const error = new DomainError('invalid', 'X', 'Both.', [
      { field: 'phone', message: 'First.' },
      { field: 'phone', message: 'Second.' },
      { field: 'salonId', message: 'Hidden.' },
    ]);
    const form = refusedForm({ phone: '12' }, problemOf(error));
    expect(form.errors).toEqual({ phone: 'First.', salonId: 'Hidden.' });
    expect(form.problems.map(({ shown }) => shown)).toEqual([true, true, false]);
    expect(form.values).toEqual({ phone: '12' });
  });

  it('tells a refusal without fields above the form', () => {
    const form = refusedForm({}, problemOf(new DomainError('conflict', 'BOOK.TAKEN', 'That time is taken.')));
    expect(form.problems).toEqual([{ field: '', message: 'That time is taken.', shown: false }]);
  });
});
