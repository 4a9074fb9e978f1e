import { TOKEN_RIGHT_WORDS } from '../../../app/records/api-token.ts'
import { nameOf, os } from './base.ts'

export const tokenRoutes = {
  list: os.tokens.list.handler(({ context }) => context.services.tokens.list()),
  make: os.tokens.make.handler(({ context, input }) => {
    const { tokens, station } = context.services
    const token = tokens.make(input, nameOf(context))
    station.touched('settings')
    const may = input.rights.map((right) => TOKEN_RIGHT_WORDS[right]).join('; ')
    return { token, words: `A token for ${input.name}, which may ${may}. It is shown this once.` }
  }),
  revoke: os.tokens.revoke.handler(({ context, input: { id, why } }) => {
    const { tokens, station } = context.services
    tokens.revoke(id, nameOf(context), why)
    station.touched('settings')
    return { words: 'The token is revoked. The program that has it is refused from now on.' }
  }),
}
