import type { Inconsistency } from './inconsistency.ts'
import type { Profile } from './schema.ts'
import type { Answer } from './schema-answers.ts'
import type { Step } from './schema-steps.ts'

type Path = readonly (string | number)[]

/** Words of format 2 in a file that says it is of format 1: a program that reads only that one would not know them. */
export function formatProblems(profile: Profile): Inconsistency[] {
  if (profile.format !== 'stillpoint profile 1') return []
  return [...newWords(profile)].map((path) => ({
    path,
    message: `"${path.findLast((part) => typeof part === 'string')}" as it is used here needs "format": "stillpoint profile 2"`,
  }))
}

function* newWords(profile: Profile): Generator<Path> {
  const { framing, registers = {}, capabilities, stream, role } = profile
  if (framing.ignore.length > 0) yield ['framing', 'ignore']
  if (framing.echo === 'sometimes') yield ['framing', 'echo']
  if (profile.ranges !== undefined) yield ['ranges']
  if (profile.parts !== undefined) yield ['parts']
  if (stream !== undefined && role !== 'environment') yield ['stream']
  for (const word of ['timePower', 'value', 'takesMs'] as const) {
    if (stream?.[word] !== undefined) yield ['stream', word]
  }
  for (const [name, { type, bytes }] of Object.entries(registers)) {
    if (type === 'float64' || type === 'int64' || type === 'uint64') yield ['registers', name, 'type']
    if (bytes !== undefined) yield ['registers', name, 'bytes']
  }
  for (const [name, { linear }] of Object.entries(profile.quantities ?? {})) {
    if (linear !== undefined) yield ['quantities', name, 'linear']
  }
  yield* newSteps(profile.prepare, ['prepare'])
  for (const [name, steps] of Object.entries(capabilities)) yield* newSteps(steps, ['capabilities', name])
  if (capabilities['set-range'] !== undefined) yield ['capabilities', 'set-range']
  for (const [name, command] of Object.entries(profile.commands)) {
    const path = ['commands', name]
    yield* newAnswer(command.answer, [...path, 'answer'])
    if (command.trigger) yield [...path, 'trigger']
    if (command.poll?.onRequest === true) yield [...path, 'poll', 'onRequest']
    for (const [parameter, { linear }] of Object.entries(command.parameters)) {
      if (linear !== undefined) yield [...path, 'parameters', parameter, 'linear']
    }
  }
}

function* newSteps(steps: readonly Step[], path: Path): Generator<Path> {
  for (const [i, step] of steps.entries()) {
    if (typeof step !== 'string') yield [...path, i, 'when' in step ? 'when' : 'repeat']
  }
}

function* newAnswer(answer: Answer, path: Path): Generator<Path> {
  if (answer.kind !== 'value') return
  for (const word of ['linear', 'numbers', 'many'] as const) {
    if (answer[word] !== undefined) yield [...path, word]
  }
}
