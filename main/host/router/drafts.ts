import { os, personAt, type WindowContext } from './base.ts'

/** Whose drafts a window sees. Where nobody is signed in the station keeps none: the window holds what is typed there. */
const draftsOf = (context: WindowContext): string | undefined => personAt(context)?.name

export const draftRoutes = {
  get: os.drafts.get.handler(({ context, input }) => {
    const who = draftsOf(context)
    const draft = who === undefined ? undefined : context.services.store.drafts.get(who, input.key)
    return draft ? { json: draft.json, utcUs: draft.utcUs } : null
  }),
  put: os.drafts.put.handler(({ context, input }) => {
    const who = draftsOf(context)
    if (who === undefined) return { words: 'Not kept by the station: nobody is signed in here.' }
    context.services.store.drafts.put(who, input.key, input.json)
    return { words: 'Kept.' }
  }),
  drop: os.drafts.drop.handler(({ context, input }) => {
    const who = draftsOf(context)
    if (who !== undefined) context.services.store.drafts.drop(who, input.key)
    return { words: 'Let go.' }
  }),
}
