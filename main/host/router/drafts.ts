import { os, personAt, type WindowContext } from './base.ts'

/** Whose drafts a window sees; where nobody is signed in, those of whoever sits there. */
const draftsOf = (context: WindowContext): string => personAt(context)?.name ?? ''

export const draftRoutes = {
  get: os.drafts.get.handler(({ context, input }) => {
    const draft = context.services.store.drafts.get(draftsOf(context), input.key)
    return draft ? { json: draft.json, utcUs: draft.utcUs } : null
  }),
  put: os.drafts.put.handler(({ context, input }) => {
    context.services.store.drafts.put(draftsOf(context), input.key, input.json)
    return { words: 'Kept.' }
  }),
  drop: os.drafts.drop.handler(({ context, input }) => {
    context.services.store.drafts.drop(draftsOf(context), input.key)
    return { words: 'Let go.' }
  }),
}
