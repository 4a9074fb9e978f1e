import type { WindowPerson } from '../../../app/contract/calls-people.ts'
import { said } from '../../../app/messages/said.ts'
import { decider, forbidden, nameOf, os, personAt, type WindowContext } from './base.ts'

function windowPerson(context: WindowContext): WindowPerson {
  const { people } = context.services.store
  const person = personAt(context) ?? null
  return { onlooker: context.role === 'watcher', person, anybody: people.known || person !== null }
}

/** What an attempt at a password comes from: an address beyond this computer, or the window itself. */
const placeOf = ({ call: { window } }: WindowContext): unknown => window.address ?? window

export const peopleRoutes = {
  me: os.people.me.handler(({ context }) => windowPerson(context)),

  enterFirst: os.people.enterFirst.handler(async ({ context, input }) => {
    const { person, token } = await context.services.people.enterFirst(input.name, input.password)
    context.call.window.person = person.id
    return {
      person,
      token,
      words: `${person.name} is entered and may do everything here. Keep the password safe: nobody can look it up.`,
    }
  }),

  signIn: os.people.signIn.handler(async ({ context, input }) => {
    const entered = await context.services.people.signIn(input, placeOf(context))
    if (!entered) forbidden(said('sign-in-wrong', {}))
    context.call.window.person = entered.person.id
    return { ...entered, words: `${entered.person.name} is signed in at this window.` }
  }),

  comeBack: os.people.comeBack.handler(({ context, input }) => {
    if (context.role !== 'watcher') {
      const person = context.services.people.comeBack(input.token)
      if (person) context.call.window.person = person.id
    }
    return windowPerson(context)
  }),

  signOut: os.people.signOut.handler(({ context, input }) => {
    if (input.token !== undefined) context.services.people.signOut(input.token)
    context.call.window.person = undefined
    return { words: 'Nobody is signed in at this window now.' }
  }),

  changePassword: os.people.changePassword.handler(async ({ context, input }) => {
    const token = await context.services.people.changeOwn(
      decider(context),
      input.old,
      input.next,
      placeOf(context),
    )
    if (token === undefined) forbidden(said('old-password-wrong', {}))
    return { token, words: 'The new password holds from now on. Other windows have to sign in again.' }
  }),

  list: os.people.list.handler(({ context }) => context.services.store.people.all()),

  save: os.people.save.handler(async ({ context, input: { password, why, ...wanted } }) => {
    const { people, station } = context.services
    const saved = await people.save(wanted, password, { who: nameOf(context), why })
    station.touched('register')
    return {
      words: saved.closed
        ? `${saved.name} does not work here any more. The records keep the name.`
        : `${saved.name} is stored.`,
    }
  }),
}
