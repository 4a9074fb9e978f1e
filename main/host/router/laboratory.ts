import { said } from '../../../app/messages/said.ts'
import { forbidden, isOnlooker, nameOf, needRight, os } from './base.ts'

export const laboratoryRoutes = {
  benches: os.laboratory.benches.handler(({ context }) => {
    const { services } = context
    if (isOnlooker(context) && !services.settings().onlookersSeeBenches)
      forbidden(said('onlookers-see-own-bench', {}))
    const { exchange, benches } = services.laboratory
    // An address of a database may stand in what went wrong with it.
    const shown =
      exchange && isOnlooker(context) ? { ...exchange, words: 'One laboratory.', troubles: [] } : exchange
    return { exchange: shown && { ...shown, troubles: [...shown.troubles] }, benches }
  }),
  undecided: os.laboratory.undecided.handler(({ context }) => context.services.laboratory.undecided()),
  decide: os.laboratory.decide.handler(({ context, input: { kind, id, hash, why } }) => {
    // What people may do and what holds for the laboratory is decided by who sees to the station.
    if (kind === 'person' || kind === 'laboratory') needRight(context, 'administer')
    context.services.laboratory.decide(kind, id, hash, { who: nameOf(context), why })
    return {
      words: 'It is decided, and every bench gets it so. What the other side said stays in its history.',
    }
  }),
}
