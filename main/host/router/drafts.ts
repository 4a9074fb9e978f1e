import { os } from './base.ts'

export const draftRoutes = {
  get: os.drafts.get.handler(({ context, input }) => {
    const draft = context.services.store.drafts.get(input.who, input.key)
    return draft ? { json: draft.json, utcUs: draft.utcUs } : null
  }),
  put: os.drafts.put.handler(({ context, input }) => {
    context.services.store.drafts.put(input.who, input.key, input.json)
    return { words: 'Kept.' }
  }),
  drop: os.drafts.drop.handler(({ context, input }) => {
    context.services.store.drafts.drop(input.who, input.key)
    return { words: 'Let go.' }
  }),
}
