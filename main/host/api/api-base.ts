import { implement, ORPCError } from '@orpc/server'
import { API_NEEDS, apiContract } from '../../../app/contract/api/index.ts'
import { type ApiToken, TOKEN_RIGHT_WORDS, type TokenRight } from '../../../app/records/api-token.ts'
import { StationError } from '../../station/station-error.ts'
import { StoreError } from '../../store/errors.ts'
import type { Services } from '../services.ts'

export interface ApiContext {
  services: Services
  token: ApiToken
}

function refuse(code: 'REFUSED' | 'NOT_FOUND' | 'FORBIDDEN' | 'BUSY', status: number, words: string): never {
  throw new ORPCError(code, { defined: true, status, message: words, data: { words } })
}
export function refused(words: string): never {
  refuse('REFUSED', 422, words)
}
export function notFound(words: string): never {
  refuse('NOT_FOUND', 404, words)
}
function forbidden(words: string): never {
  refuse('FORBIDDEN', 403, words)
}
export function busy(words: string): never {
  refuse('BUSY', 429, words)
}

/** Under which name the ledger has what a program does. */
export const programName = ({ name, id }: ApiToken): string => `${name} (token ${id})`

const holds = (token: ApiToken, right: TokenRight) => token.rights.includes(right)

/** Every call of another program passes here: its token must have the right, and what the station refuses is told in words. */
export const os = implement(apiContract)
  .$context<ApiContext>()
  .use(async ({ context, path, next }) => {
    const need = API_NEEDS[path.join('.')]
    if (need === undefined || !holds(context.token, need))
      forbidden(
        `The token ${context.token.id} may not ${need ? TOKEN_RIGHT_WORDS[need] : 'do this'}. Ask whoever sees to the station.`,
      )
    try {
      return await next()
    } catch (fault) {
      if (fault instanceof StoreError && fault.code === 'not-found') notFound(fault.message)
      if (fault instanceof StoreError || fault instanceof StationError) refused(fault.message)
      if (!(fault instanceof ORPCError))
        context.services.log.error({ fault, path }, 'a call of a program failed')
      throw fault
    }
  })
