import { implement, ORPCError } from '@orpc/server'
import { CodedError, saidBy } from '../../../app/base/coded-error.ts'
import { API_NEEDS, apiContract } from '../../../app/contract/api/index.ts'
import { type Said, said } from '../../../app/messages/said.ts'
import { type ApiToken, TOKEN_RIGHT_WORDS, type TokenRight } from '../../../app/records/api-token.ts'
import { StoreError } from '../../store/errors.ts'
import type { Services } from '../services.ts'

export interface ApiContext {
  services: Services
  token: ApiToken
}

/** What of a refusal a program gets: the sentence, and the message it was made of. */
export const problemOf = ({ words, code, args }: Said) => ({ words, code, args })

function refuse(code: 'REFUSED' | 'NOT_FOUND' | 'FORBIDDEN' | 'BUSY', status: number, why: Said): never {
  throw new ORPCError(code, { defined: true, status, message: why.words, data: problemOf(why) })
}
export function refused(why: Said): never {
  refuse('REFUSED', 422, why)
}
export function notFound(why: Said): never {
  refuse('NOT_FOUND', 404, why)
}
function forbidden(why: Said): never {
  refuse('FORBIDDEN', 403, why)
}
export function busy(why: Said): never {
  refuse('BUSY', 429, why)
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
        said('token-may-not', { token: context.token.id, right: need ? TOKEN_RIGHT_WORDS[need] : 'do this' }),
      )
    try {
      return await next()
    } catch (fault) {
      if (fault instanceof StoreError && fault.code === 'not-found') notFound(saidBy(fault))
      if (fault instanceof CodedError) refused(saidBy(fault))
      if (!(fault instanceof ORPCError))
        context.services.log.error({ fault, path }, 'a call of a program failed')
      throw fault
    }
  })
