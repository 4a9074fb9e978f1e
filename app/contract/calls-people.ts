import { z } from 'zod'
import { Person, Right } from '../records/person.ts'
import { base, Id, Ok, Why } from './call.ts'

/** Who works here, and who sits before this window. */

const Name = z.string().trim().min(1).max(200)
const Password = z.string().min(1).max(200)
/** Shown again by the window when it comes back, so that its person stays signed in. */
const Token = z.string().min(1).max(200)

/** Who this window is, as the station sees it. */
export const WindowPerson = z.strictObject({
  /** An onlooker may only look, and nobody signs in there. */
  onlooker: z.boolean(),
  person: Person.nullable(),
  /** Whether anybody has been entered yet: if not, whoever decides first is asked who it is. */
  anybody: z.boolean(),
})
export type WindowPerson = z.output<typeof WindowPerson>

const Entered = z.strictObject({ person: Person, token: Token, words: z.string() })

export const peopleCalls = {
  me: base.output(WindowPerson),
  /** The first person of a station; every right. */
  enterFirst: base.input(z.strictObject({ name: Name, password: Password })).output(Entered),
  /** `stay`: this window's computer is the person's own, and it stays signed in. */
  signIn: base
    .input(z.strictObject({ name: Name, password: Password, stay: z.boolean().default(false) }))
    .output(Entered),
  /** A window that was signed in comes back. */
  comeBack: base.input(z.strictObject({ token: Token })).output(WindowPerson),
  signOut: base.input(z.strictObject({ token: Token.optional() })).output(Ok),
  changePassword: base
    .input(z.strictObject({ old: Password, next: Password }))
    .output(z.strictObject({ token: Token, words: z.string() })),
  list: base.output(z.array(Person)),
  /** Enters a person (without id) or changes one; a password is given to begin with, or where one was forgotten. */
  save: base
    .input(
      z.strictObject({
        id: Id.optional(),
        name: Name,
        rights: z.array(Right),
        position: z.string().max(200).optional(),
        closed: z.boolean().default(false),
        password: Password.optional(),
        why: Why.default(''),
      }),
    )
    .output(Ok),
}
