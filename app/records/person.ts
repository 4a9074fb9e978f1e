import { z } from 'zod'

/**
 * What a person may do: work the bench and its sessions; keep the register's records; sign reports and certificates; see to
 * the station itself, its settings and its people.
 */
export const RIGHTS = ['operate', 'keep-records', 'authorise', 'administer'] as const
export const Right = z.enum(RIGHTS)
export type Right = z.output<typeof Right>

/** A named user. What a person has decided stands under the name in the records, so names are never used again. */
export const Person = z.strictObject({
  id: z.string().min(1).max(80),
  name: z.string().trim().min(1).max(200),
  rights: z.array(Right),
  /** What the person is in the laboratory, as a certificate may say it. */
  position: z.string().max(200).optional(),
  /** Day from which on the person does not work here any more, ISO 8601; the record stays. */
  closed: z.iso.date().optional(),
  /** Stands for whoever tries the lab in a box; closed as soon as a real person is entered. */
  practice: z.boolean().optional(),
})
export type Person = z.output<typeof Person>

/** Rights in the words that a person reads. */
export const RIGHT_WORDS: Readonly<Record<Right, string>> = {
  operate: 'work the bench and its sessions',
  'keep-records': 'keep the records of the register',
  authorise: 'sign reports and certificates',
  administer: 'see to the station, its settings and its people',
}

export const mayDo = (person: Pick<Person, 'rights' | 'closed'> | undefined, right: Right): boolean =>
  person !== undefined && person.closed === undefined && person.rights.includes(right)
