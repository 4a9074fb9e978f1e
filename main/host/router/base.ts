import { implement, ORPCError } from '@orpc/server'
import { CodedError } from '../../../app/base/coded-error.ts'
import { contract } from '../../../app/contract/index.ts'
import { type CallName, NEEDS } from '../../../app/contract/rights.ts'
import { mayDo, type Person, RIGHT_WORDS, RIGHTS, type Right } from '../../../app/records/person.ts'
import type { Call } from '../gate/served-window.ts'
import type { Role } from '../page/tokens.ts'
import type { Services } from '../services.ts'
import { HEAVY, QUICK, STREAMS } from './weights.ts'

export interface WindowContext {
  role: Role
  services: Services
  call: Call
}

/** What of a refusal travels beside its sentence: its code and the facts in it, as far as they are plain values. */
function refusalOf(words: string, code: string, facts: Readonly<Record<string, unknown>> = {}) {
  const args = Object.fromEntries(
    Object.entries(facts).filter(([, value]) => ['string', 'number', 'boolean'].includes(typeof value)),
  ) as Record<string, string | number | boolean>
  return { defined: true, message: words, data: { words, code, args } }
}

/** An expected refusal with its sentence; the window shows it where the act was tried. */
export function refused(words: string, code = 'refused', facts?: Readonly<Record<string, unknown>>): never {
  throw new ORPCError('REFUSED', refusalOf(words, code, facts))
}

export function notFound(words: string, facts?: Readonly<Record<string, unknown>>): never {
  throw new ORPCError('NOT_FOUND', refusalOf(words, 'not-found', facts))
}

export function forbidden(words: string): never {
  throw new ORPCError('FORBIDDEN', refusalOf(words, 'forbidden'))
}

function busy(words: string): never {
  throw new ORPCError('BUSY', refusalOf(words, 'busy'))
}

function signIn(words: string): never {
  throw new ORPCError('SIGN_IN', refusalOf(words, 'sign-in'))
}

/** The person at a window; whoever tries the lab where nobody has been entered yet. */
export function personAt({ role, services, call }: WindowContext): Person | undefined {
  if (role === 'watcher') return undefined
  return services.people.who(call.window.person) ?? services.people.practice
}

/** By whom a decision is made: the call's need has seen to it that somebody is signed in. */
export function decider(context: WindowContext): Person {
  return (
    personAt(context) ?? signIn('Sign in first: what is decided here stands in the record under your name.')
  )
}

/** Name of the person who decides. */
export const nameOf = (context: WindowContext): string => decider(context).name

/** Refuses in words what the window or its person may not do. */
export function needRight(
  context: WindowContext,
  right: Right,
  what = `Only who may ${RIGHT_WORDS[right]} does this.`,
): void {
  const person = decider(context)
  if (!mayDo(person, right))
    forbidden(`${what} ${person.name} may not. Ask somebody who may, or sign in as another person.`)
}

/** Whether what is told goes to somebody who only looks. */
export const isOnlooker = ({ role }: Pick<WindowContext, 'role'>): boolean => role === 'watcher'

const isRight = (need: string): need is Right => (RIGHTS as readonly string[]).includes(need)

function admit(name: CallName, context: WindowContext): void {
  const need = NEEDS[name] ?? 'administer'
  if (need === 'look') return
  if (context.role === 'watcher')
    forbidden('This window may only look. Open the operator address to change something.')
  // Trying the lab in a box asks nothing while nobody has been entered.
  if (name === 'bench.startLab' || name === 'checks.practise') context.services.people.practise('Practice')
  if (need === 'person') decider(context)
  else if (isRight(need)) needRight(context, need)
}

/** Takes the place that a stream or a piece of heavy work needs, for as long as the call lasts. */
async function takePlace(
  name: string,
  { services, call }: WindowContext,
  signal?: AbortSignal,
): Promise<void> {
  const { window } = call
  if (STREAMS.has(name)) {
    const { streamsEach } = services.gate.limits(window.group)
    if (window.streams >= streamsEach)
      busy(`This window already follows ${window.streams} things. Close one first.`)
    const end = services.gate.stream(window.group)
    if (!end) busy('Too many windows follow the station. Close one, or try again in a minute.')
    window.streams += 1
    call.hold(() => {
      window.streams -= 1
      end()
    })
  }
  if (name === 'archive.replay') {
    const end = services.gate.replay()
    if (!end) busy('Two replays run already. Try again when one of them has ended.')
    call.hold(end)
  }
  if (QUICK.has(name)) call.hold(await services.quick.enter(window, window.group, signal, busy))
  if (HEAVY.has(name)) call.hold(await services.heavy.enter(window, window.group, signal, busy))
}

/** The session that a call is about: one of another bench comes here first. */
function sessionIn(input: unknown): string | undefined {
  const session =
    input !== null && typeof input === 'object' && 'session' in input ? input.session : undefined
  return typeof session === 'string' ? session : undefined
}

/** Every call passes here: onlookers only look, and what the station refuses becomes a refusal in words. */
export const os = implement(contract)
  .$context<WindowContext>()
  .use(async ({ context, path, next, signal }, input) => {
    const name = path.join('.')
    admit(name as CallName, context)
    await takePlace(name, context, signal)
    try {
      const session = sessionIn(input)
      if (session !== undefined) await context.services.laboratory.bring(session)
      return await next()
    } catch (fault) {
      if (fault instanceof CodedError) {
        const { message, code, facts } = fault
        if (code === 'not-found') notFound(message, facts)
        refused(message, code, facts)
      }
      if (!(fault instanceof ORPCError))
        context.services.log.error({ fault, path }, 'a call of the window failed')
      throw fault
    }
  })

/** Bytes as the contract carries them. */
export function blob(bytes: Uint8Array<ArrayBuffer> | string, type = 'application/octet-stream'): Blob {
  return new Blob([bytes], { type })
}
