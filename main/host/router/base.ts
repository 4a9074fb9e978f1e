import { implement, ORPCError } from '@orpc/server'
import { CodedError, saidBy } from '../../../app/base/coded-error.ts'
import { contract } from '../../../app/contract/index.ts'
import { type CallName, NEEDS } from '../../../app/contract/rights.ts'
import { type Said, said } from '../../../app/messages/said.ts'
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

/** What of a refusal travels: its sentence, the message that was made of, and of which kind it is. */
const refusalOf = (kind: string, { words, code, args }: Said) => ({
  defined: true,
  message: words,
  data: { words, kind, code, args },
})

/** An expected refusal with its sentence; the window shows it where the act was tried. */
export function refused(why: Said, kind = 'refused'): never {
  throw new ORPCError('REFUSED', refusalOf(kind, why))
}

export function notFound(why: Said): never {
  throw new ORPCError('NOT_FOUND', refusalOf('not-found', why))
}

export function forbidden(why: Said): never {
  throw new ORPCError('FORBIDDEN', refusalOf('forbidden', why))
}

function busy(why: Said): never {
  throw new ORPCError('BUSY', refusalOf('busy', why))
}

function signIn(why: Said): never {
  throw new ORPCError('SIGN_IN', refusalOf('sign-in', why))
}

/** The person at a window; whoever tries the lab where nobody has been entered yet. */
export function personAt({ role, services, call }: WindowContext): Person | undefined {
  if (role === 'watcher') return undefined
  return services.people.who(call.window.person) ?? services.people.practice
}

/** By whom a decision is made: the call's need has seen to it that somebody is signed in. */
export function decider(context: WindowContext): Person {
  return personAt(context) ?? signIn(said('sign-in-first', {}))
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
  if (!mayDo(person, right)) forbidden(said('person-may-not', { what, person: person.name }))
}

/** Whether what is told goes to somebody who only looks. */
export const isOnlooker = ({ role }: Pick<WindowContext, 'role'>): boolean => role === 'watcher'

const isRight = (need: string): need is Right => (RIGHTS as readonly string[]).includes(need)

function admit(name: CallName, context: WindowContext): void {
  const need = NEEDS[name] ?? 'administer'
  if (need === 'look') return
  if (context.role === 'watcher') forbidden(said('window-only-looks', {}))
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
    if (window.streams >= streamsEach) busy(said('window-follows-too-much', { streams: window.streams }))
    const end = services.gate.stream(window.group)
    if (!end) busy(said('too-many-windows', {}))
    window.streams += 1
    call.hold(() => {
      window.streams -= 1
      end()
    })
  }
  if (name === 'archive.replay') {
    const end = services.gate.replay()
    if (!end) busy(said('too-many-replays', {}))
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
        if (fault.code === 'not-found') notFound(saidBy(fault))
        refused(saidBy(fault), fault.code)
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
