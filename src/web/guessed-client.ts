/** What was typed to search with, as a new client's name or number. */
export function guessedClient(text: string): Record<string, string> {
  if (/^[+(\d]/.test(text)) return { phone: text };
  const [givenName = '', ...rest] = text.split(/\s+/);
  return { givenName, familyName: rest.join(' ') };
}
