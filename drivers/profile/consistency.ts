import { CAPABILITIES, CAPABILITY_PARAMETERS, type Profile } from './schema.ts'

/** What a schema cannot see: names that lead nowhere, roles without what they need. Paths as of zod issues. */
export interface Inconsistency {
  readonly path: readonly (string | number)[]
  readonly message: string
}

/** Checks that the parts of a profile fit each other. */
export function inconsistencies(profile: Profile): Inconsistency[] {
  return [
    ...danglingNames(profile),
    ...capabilityProblems(profile),
    ...parameterProblems(profile),
    ...roleProblems(profile),
    ...framingProblems(profile),
    ...registerProblems(profile),
  ]
}

function danglingNames(profile: Profile): Inconsistency[] {
  const asked: [readonly (string | number)[], string | undefined][] = [
    [['identity', 'ask'], profile.identity.ask],
    [['watch', 'ask'], profile.watch?.ask],
    [['errors', 'ask'], 'ask' in profile.errors ? profile.errors.ask : undefined],
    ...profile.prepare.map((name, i) => [['prepare', i], name] as [(string | number)[], string]),
    ...Object.entries(profile.capabilities).flatMap(([capability, names]) =>
      names.map((name, i) => [['capabilities', capability, i], name] as [(string | number)[], string]),
    ),
    ...Object.entries(profile.commands).map(
      ([name, command]) =>
        [['commands', name, 'confirm', 'ask'], command.confirm?.ask] as [string[], string | undefined],
    ),
  ]
  return asked
    .filter(([, name]) => name !== undefined && !Object.hasOwn(profile.commands, name))
    .map(([path, name]) => ({ path, message: `there is no command named "${name}" under commands` }))
}

function capabilityProblems(profile: Profile): Inconsistency[] {
  const { must, may } = CAPABILITIES[profile.role]
  const known: readonly string[] = [...must, ...may]
  const unknown = Object.keys(profile.capabilities)
    .filter((name) => !known.includes(name))
    .map((name) => ({
      path: ['capabilities', name],
      message: `a ${profile.role} has no capability "${name}"; it may have ${known.join(', ')}`,
    }))
  const missing = must
    .filter((name) => !Object.hasOwn(profile.capabilities, name))
    .map((name) => ({ path: ['capabilities'], message: `a ${profile.role} needs the capability "${name}"` }))
  return [...unknown, ...missing]
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
      if (parameter === 'input' && profile.inputs === undefined) {
        found.push({
          path: ['commands', name, 'send'],
          message: '{input} needs "inputs", which says how they are numbered',
        })
      }
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
  for (const [capability, names] of Object.entries(profile.capabilities)) {
    const given = CAPABILITY_PARAMETERS[capability] ?? []
    names.forEach((name, i) => {
      const send = profile.commands[name]?.send ?? ''
      for (const [, parameter] of send.matchAll(BRACED)) {
        if (!given.includes(parameter!)) {
          found.push({
            path: ['capabilities', capability, i],
            message: `"${name}" wants {${parameter}}, which ${capability} does not have`,
          })
        }
      }
    })
  }
  for (const [i, name] of profile.prepare.entries()) {
    const command = profile.commands[name]
    if (command !== undefined && /\{/.test(command.send)) {
      found.push({ path: ['prepare', i], message: 'what is sent at the start carries no parameters' })
    }
    if (command?.risk === 'hazardous') {
      found.push({
        path: ['prepare', i],
        message: 'a hazardous command is never sent without being asked for',
      })
    }
  }
  return found
}

function roleProblems(profile: Profile): Inconsistency[] {
  const found: Inconsistency[] = []
  const { role } = profile
  if ((role === 'ratio-bridge' || role === 'meter') && profile.unit === undefined) {
    found.push({ path: ['role'], message: `a ${role} needs "unit", the unit of what it measures` })
  }
  if (role === 'scanner' && profile.inputs === undefined) {
    found.push({ path: ['role'], message: 'a scanner needs "inputs"' })
  }
  if (role === 'environment') {
    if (profile.quantities === undefined)
      found.push({ path: ['role'], message: 'an environment sensor needs "quantities"' })
    if (profile.stream === undefined && profile.capabilities['read-all'] === undefined) {
      found.push({
        path: ['role'],
        message: 'an environment sensor needs "stream" or the capability "read-all"',
      })
    }
  }
  if (profile.identity.ask === undefined && profile.stream === undefined) {
    found.push({ path: ['identity'], message: 'an instrument that can be asked needs "ask"' })
  }
  const names = profile.inputs?.names
  if (names !== undefined && names.length !== profile.inputs?.count) {
    found.push({
      path: ['inputs', 'names'],
      message: `${names.length} names for ${profile.inputs?.count} inputs`,
    })
  }
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
  const hasBlock = Object.values(profile.commands).some((c) => c.answer.kind === 'value' && c.answer.block)
  if (hasBlock && !profile.framing.blocks) {
    found.push({ path: ['framing'], message: 'an answer is a block: set "blocks" to true' })
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
