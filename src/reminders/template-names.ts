import Handlebars from 'handlebars';

const HELPERS: readonly string[] = ['if', 'unless'];

class Names extends Handlebars.Visitor {
  readonly found = new Set<string>();

  override PathExpression(path: hbs.AST.PathExpression): void {
    if (!path.data) this.found.add(path.original);
  }

  // A part's own name is no value; a missing part is reported when it is rendered.
  override PartialStatement(part: hbs.AST.PartialStatement): void {
    for (const value of part.params) this.accept(value);
    if (part.hash) this.accept(part.hash);
  }

  override PartialBlockStatement(part: hbs.AST.PartialBlockStatement): void {
    for (const value of part.params) this.accept(value);
    if (part.hash) this.accept(part.hash);
    this.accept(part.program);
  }
}

/**
 * Names in a template that are neither among `known` nor `if` or `unless`. Handlebars' strict mode finds those
 * that are printed, but lets an unknown name in a condition pass as false.
 * Throws Handlebars' own error, with the line, when the template cannot be parsed.
 */
export function unknownNames(template: string, known: readonly string[]): string[] {
  const names = new Names();
  names.accept(Handlebars.parse(template));
  return [...names.found].filter((name) => !known.includes(name) && !HELPERS.includes(name));
}
