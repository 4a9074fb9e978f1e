/** Lower-case letters, digits and hyphens of a text, for an id that a person can read; empty where it has none of them. */
export const plainId = (text: string, most = 60): string =>
  text
    .toLowerCase()
    .replace(/[^a-z0-9]+/g, '-')
    .replace(/^-|-$/g, '')
    .slice(0, most)
