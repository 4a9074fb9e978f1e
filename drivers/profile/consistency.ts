import { counted } from '../../app/base/plural.ts'
import { formatProblems } from './format-words.ts'
import type { Inconsistency } from './inconsistency.ts'
import { CAPABILITIES, CAPABILITY_PARAMETERS, type Profile } from './schema.ts'
import { walkSteps } from './schema-steps.ts'
import { valueProblems } from './value-consistency.ts'

type Path = readonly (string | number)[]

/** Checks that the parts of a profile fit each other. */
export function inconsistencies(profile: Profile): Inconsistency[] {
  return [
    ...formatProblems(profile),
    ...danglingNames(profile),
    ...conditionProblems(profile),
    ...facesOf(profile).flatMap((face) => [
      ...capabilityProblems(face, profile),
      ...capabilityParameters(face, profile),
      ...roleProblems(face, profile),
    ]),
    ...parameterProblems(profile),
    ...prepareProblems(profile),
    ...valueProblems(profile),
    ...framingProblems(profile),
    ...registerProblems(profile),
  ]
}

/** What one instrument of the case has of its own: the profile's main one, and each part. */
type Face = Pick<Profile, 'role' | 'unit' | 'inputs' | 'ranges' | 'quantities' | 'capabilities'> & {
  readonly path: Path
}

function facesOf(profile: Profile): Face[] {
  const parts = Object.entries(profile.parts ?? {})
  return [
    { ...profile, path: [] },
    ...parts.map(([name, part]): Face => {
      const { role, unit, inputs, ranges, quantities, capabilities } = part
      return { role, unit, inputs, ranges, quantities, capabilities, path: ['parts', name] }
    }),
  ]
}

/** All steps of a profile, each with where it stands. */
function* allSteps(profile: Profile) {
  yield* walkSteps(profile.prepare, ['prepare'])
  for (const { path, capabilities } of facesOf(profile)) {
    for (const [name, steps] of Object.entries(capabilities)) {
      yield* walkSteps(steps, [...path, 'capabilities', name])
    }
  }
}

function danglingNames(profile: Profile): Inconsistency[] {
  const asked: [Path, string | undefined][] = [
    [['identity', 'ask'], profile.identity.ask],
    [['watch', 'ask'], profile.watch?.ask],
    [['errors', 'ask'], 'ask' in profile.errors ? profile.errors.ask : undefined],
    ...[...allSteps(profile)].map(({ path, command }): [Path, string] => [path, command]),
    ...Object.entries(profile.commands).map(([name, command]): [Path, string | undefined] => [
      ['commands', name, 'confirm', 'ask'],
      command.confirm?.ask,
    ]),
  ]
  return asked
    .filter(([, name]) => name !== undefined && !Object.hasOwn(profile.commands, name))
    .map(([path, name]) => ({ path, message: `there is no command named "${name}" under commands` }))
}

/** A condition asks what only reads, and wants of its answer what that kind of answer can say. */
function conditionProblems(profile: Profile): Inconsistency[] {
  const found: Inconsistency[] = []
  for (const { path, command: name, condition } of allSteps(profile)) {
    const command = Object.hasOwn(profile.commands, name) ? profile.commands[name] : undefined
    if (condition === undefined || command === undefined) continue
    if (command.risk !== 'read-only')
      found.push({ path, message: `"${name}" does not only read, so it cannot be a condition` })
    const wants = {
      bits: condition.set !== undefined || condition.clear !== undefined,
      text: condition.equals !== undefined,
      value: condition.least !== undefined || condition.most !== undefined,
    }
    const { kind } = command.answer
    const may =
      kind === 'bits' ? ['bits'] : kind === 'value' ? ['value', 'text'] : kind === 'text' ? ['text'] : []
    if (may.length === 0)
      found.push({ path, message: `"${name}" has no answer that a condition could be of` })
    else if (!Object.values(wants).includes(true))
      found.push({ path, message: 'a condition needs "set", "clear", "equals", "least" or "most"' })
    for (const [want, wanted] of Object.entries(wants)) {
      if (!wanted || may.includes(want) || may.length === 0) continue
      const words = {
        bits: '"set" and "clear" are for answers of bits',
        text: '"equals" is for texts and values',
        value: '"least" and "most" are for values',
      }
      found.push({ path, message: words[want as keyof typeof words] })
    }
  }
  return found
}

function capabilityProblems(face: Face, { stream }: Profile): Inconsistency[] {
  const { role, capabilities, path, ranges } = face
  const { must, may } = CAPABILITIES[role]
  const known: readonly string[] = [...must, ...may]
  const unknown = Object.keys(capabilities)
    .filter((name) => !known.includes(name))
    .map((name) => ({
      path: [...path, 'capabilities', name],
      message: `a ${role} has no capability "${name}"; it may have ${known.join(', ')}`,
    }))
  const missing = must
    // What tells its values by itself is not asked for them.
    .filter((name) => name !== 'measure' || stream === undefined || path.length > 0)
    .filter((name) => !Object.hasOwn(capabilities, name))
    .map((name) => ({ path: [...path, 'capabilities'], message: `a ${role} needs the capability "${name}"` }))
  const unset =
    ranges !== undefined && capabilities['set-range'] === undefined
      ? [{ path: [...path, 'ranges'], message: 'ranges need the capability "set-range"' }]
      : []
  return [...unknown, ...missing, ...unset]
}

const BRACED = /\{([a-z][a-z0-9-]*)\}/g

function parameterProblems(profile: Profile): Inconsistency[] {
  const found: Inconsistency[] = []
  for (const [name, command] of Object.entries(profile.commands)) {
    const braced = new Set([...command.send.matchAll(BRACED)].map((match) => match[1]!))
    for (const parameter of braced) {
      if (parameter !== 'input' && !Object.hasOwn(command.parameters, parameter)) {
        found.push({
          path: ['commands', name, 'send'],
          message: `{${parameter}} is not under this command's parameters`,
        })
      }
    }
    if (command.trigger && (command.answer.kind !== 'none' || braced.size > 0)) {
      found.push({
        path: ['commands', name, 'trigger'],
        message: 'a trigger carries no parameters and has no answer: ask for the value with another command',
      })
    }
    for (const [parameter, rule] of Object.entries(command.parameters)) {
      const path = ['commands', name, 'parameters', parameter]
      if (!braced.has(parameter)) found.push({ path, message: `{${parameter}} does not occur in "send"` })
      if (rule.low !== undefined && rule.high !== undefined && rule.low > rule.high) {
        found.push({ path, message: 'low is above high' })
      }
      if (
        command.risk === 'hazardous' &&
        rule.words === undefined &&
        (rule.low === undefined || rule.high === undefined)
      ) {
        found.push({ path, message: 'a hazardous command needs low and high for each number it carries' })
      }
    }
  }
  return found
}

/** The parameters a command carries are those that its capability hands over. */
function capabilityParameters(face: Face, profile: Profile): Inconsistency[] {
  const found: Inconsistency[] = []
  for (const [capability, steps] of Object.entries(face.capabilities)) {
    const given = CAPABILITY_PARAMETERS[capability] ?? []
    for (const { path, command } of walkSteps(steps, [...face.path, 'capabilities', capability])) {
      const send = Object.hasOwn(profile.commands, command) ? profile.commands[command]!.send : ''
      for (const [, parameter] of send.matchAll(BRACED)) {
        if (!given.includes(parameter!))
          found.push({
            path,
            message: `"${command}" wants {${parameter}}, which ${capability} does not have`,
          })
        if (parameter === 'input' && face.inputs === undefined)
          found.push({ path, message: '{input} needs "inputs", which says how they are numbered' })
      }
      if (capability === 'set-range') found.push(...rangeProblems(face, profile, command))
    }
  }
  return found
}

/** Every range has a word by which it is set, and every word a range. */
function rangeProblems({ ranges = [], path }: Face, { commands }: Profile, name: string): Inconsistency[] {
  const rule = commands[name]?.parameters.range
  if (rule === undefined) return []
  const at = ['commands', name, 'parameters', 'range']
  if (rule.words === undefined)
    return [{ path: at, message: 'a range needs "words": how each of them is written' }]
  const words = Object.keys(rule.words)
  const names = ranges.map((range) => range.name)
  return [
    ...names.flatMap((each, i) =>
      words.includes(each)
        ? []
        : [
            {
              path: [...path, 'ranges', i, 'name'],
              message: `"${name}" has no word for the range "${each}"`,
            },
          ],
    ),
    ...words
      .filter((each) => !names.includes(each))
      .map((each) => ({ path: [...at, 'words', each], message: `there is no range "${each}" under ranges` })),
  ]
}

/** What is sent at the start is harmless and complete in itself. */
function prepareProblems(profile: Profile): Inconsistency[] {
  const found: Inconsistency[] = []
  for (const { path, command: name } of walkSteps(profile.prepare, ['prepare'])) {
    const command = Object.hasOwn(profile.commands, name) ? profile.commands[name] : undefined
    if (command !== undefined && /\{/.test(command.send)) {
      found.push({ path, message: 'what is sent at the start carries no parameters' })
    }
    if (command?.risk === 'hazardous') {
      found.push({ path, message: 'a hazardous command is never sent without being asked for' })
    }
  }
  return found
}

function roleProblems(face: Face, profile: Profile): Inconsistency[] {
  const found: Inconsistency[] = []
  const { role, path } = face
  const need = (message: string) => found.push({ path: [...path, 'role'], message })
  if ((role === 'ratio-bridge' || role === 'meter') && face.unit === undefined)
    need(`a ${role} needs "unit", the unit of what it measures`)
  if (role === 'scanner' && face.inputs === undefined) need('a scanner needs "inputs"')
  if (role === 'environment') {
    if (face.quantities === undefined) need('an environment sensor needs "quantities"')
    if (profile.stream === undefined && face.capabilities['read-all'] === undefined)
      need('an environment sensor needs "stream" or the capability "read-all"')
  }
  const names = face.inputs?.names
  if (names !== undefined && names.length !== face.inputs?.count) {
    found.push({
      path: [...path, 'inputs', 'names'],
      message: `${counted(names.length, 'name')} for ${counted(face.inputs?.count ?? 0, 'input')}`,
    })
  }
  if (path.length === 0 && profile.identity.ask === undefined && profile.stream === undefined)
    found.push({ path: ['identity'], message: 'an instrument that can be asked needs "ask"' })
  return found
}

function framingProblems(profile: Profile): Inconsistency[] {
  const found: Inconsistency[] = []
  if (profile.checksum?.form === 'bytes' && profile.framing.characters === 'ascii') {
    found.push({
      path: ['framing', 'characters'],
      message: 'a checksum sent as bytes needs characters "latin1"',
    })
  }
  return found
}

/** Lines of a Modbus device: each names registers that there are, and sets only such as can be set. */
function registerProblems({ registers, framing, commands }: Profile): Inconsistency[] {
  if (registers === undefined) return []
  const found: Inconsistency[] = []
  if (framing.send !== '\n' || framing.receive !== '\n') {
    found.push({ path: ['framing'], message: 'lines of registers end with "\\n", sent and received' })
  }
  for (const [name, { send, answer }] of Object.entries(commands)) {
    const path = ['commands', name, 'send']
    if (answer.kind === 'none')
      found.push({
        path,
        message: 'every request is answered: an order with "written", which is to be acknowledged',
      })
    const [, asked, set] = /^(?:([\w,-]+)\?|([\w-]+) \S+)$/.exec(send) ?? []
    const names = asked?.split(',') ?? (set === undefined ? [] : [set])
    if (names.length === 0)
      found.push({ path, message: 'write "register?", "one,other?" or "register {value}"' })
    for (const each of names) {
      const rule = Object.hasOwn(registers, each) ? registers[each] : undefined
      if (rule === undefined) found.push({ path, message: `there is no register "${each}" under registers` })
      else if (set !== undefined && rule.table === 'input')
        found.push({ path, message: `"${each}" is an input register, which cannot be set` })
      else if (set !== undefined && rule.type === 'text')
        found.push({ path, message: `"${each}" is a text, which cannot be set` })
    }
  }
  return found
}
