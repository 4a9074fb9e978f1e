import type { Inconsistency } from './inconsistency.ts'
import type { Profile } from './schema.ts'
import type { ValueRule } from './schema-answers.ts'

type Path = readonly (string | number)[]

/** What values and polls need of the rest of the profile. */
export function valueProblems(profile: Profile): Inconsistency[] {
  const found: Inconsistency[] = []
  for (const [name, { answer, poll }] of Object.entries(profile.commands)) {
    const path = ['commands', name]
    if (answer.kind === 'value') found.push(...oneValue(answer, profile, [...path, 'answer']))
    if (poll?.onRequest === true && !profile.link.serviceRequests) {
      found.push({
        path: [...path, 'poll', 'onRequest'],
        message: 'over VXI-11 requests come only where "link" has "serviceRequests": true',
      })
    }
  }
  const { stream, role } = profile
  if (stream !== undefined && role !== 'environment' && role !== 'meter' && role !== 'ratio-bridge')
    found.push({ path: ['stream'], message: `a ${role} does not tell values by itself` })
  if (stream !== undefined && role !== 'environment' && !/\(\?P?<value>/.test(stream.pattern))
    found.push({ path: ['stream', 'pattern'], message: 'the telegram of a meter needs the group "value"' })
  if (stream?.timePower !== undefined && !/\(\?P?<time>/.test(stream.pattern))
    found.push({ path: ['stream', 'timePower'], message: 'the pattern has no group "time"' })
  return found
}

function oneValue(answer: ValueRule, { framing }: Profile, path: Path): Inconsistency[] {
  const found: Inconsistency[] = []
  const say = (word: string, message: string) => found.push({ path: [...path, word], message })
  const { block, numbers, many, field } = answer
  if (block && !framing.blocks) {
    found.push({ path: ['framing'], message: 'an answer is a block: set "blocks" to true' })
  }
  if (numbers !== undefined && !block) say('numbers', 'binary numbers come in a block: set "block" to true')
  if (numbers !== undefined && framing.characters === 'ascii')
    found.push({ path: ['framing', 'characters'], message: 'binary numbers need characters "latin1"' })
  if (many !== undefined && numbers === undefined && many.separator === undefined)
    say('many', 'values of a text need "separator"')
  if (many !== undefined && numbers !== undefined && many.separator !== undefined)
    say('many', 'binary numbers stand one after another, without "separator"')
  if ((many ?? numbers) !== undefined && field !== undefined)
    say('field', 'takes one part of several, where "many" or "numbers" takes all of them')
  return found
}
