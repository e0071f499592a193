import type { EntityMetadata } from 'typeorm';
import { Sealing } from '../store/index.js';

const HEAD = `# An export of everything a Halfinch salon keeps

Open formats only: this text (Markdown), one JSON object a line (JSON Lines, UTF-8) for each row, photographs as JPEG
files, \`manifest.json\` with size and SHA-256 of every file.

**Whoever can read this archive reads health words, names, addresses and pictures.** Words that Halfinch keeps sealed
(marked "sealed" below) stand here in clear, and so do the secrets of one-time codes; passwords are hashes (argon2id).
Keep it as you would keep the paper, encrypted, and delete it when it has served.

- \`tables/NAME/0001.jsonl\`, \`0002.jsonl\`… are the rows of a table, 20,000 a file, in order of their keys.
- \`photos/FILE\` is the picture whose row in \`photo\` has that \`file\`.
- Instants are milliseconds since 1970 in UTC, dates YYYY-MM-DD, times of day HH:MM in the salon's zone, lengths
  millimetres, money the currency's smallest coin. Keys are UUIDs.
- Who is signed in (\`session\`, \`password_link\`) is left out.

Import into an empty installation of the same version with:  halfinch import archive FILE --data NEW-FOLDER
Sealed words and photographs are sealed there with that installation's own key.

# Tables
`;

/** Explains an archive to whoever opens it without Halfinch: every table, every column, what it refers to. */
export function exportReadme(tables: readonly EntityMetadata[]): string {
  return HEAD + tables.map(explained).join('');
}

function explained({ tableName, columns, foreignKeys }: EntityMetadata): string {
  const lines = columns.map((column) => {
    const link = foreignKeys.find(({ columns: [first] }) => first === column);
    const notes = [
      typeof column.type === 'string' ? column.type : 'text',
      column.isNullable && 'may be null',
      column.transformer instanceof Sealing && 'sealed',
      link && `a key of ${link.referencedEntityMetadata.tableName}`,
    ].filter(Boolean);
    return `- \`${column.propertyPath}\`: ${notes.join(', ')}\n`;
  });
  return `\n## ${tableName}\n\n${lines.join('')}`;
}
