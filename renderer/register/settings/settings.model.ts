import { first } from '../../../app/base/lists.ts'
import { ALARM_KINDS, ALARM_TABLE, type AlarmRow } from '../../../app/contract/alarm-kinds.ts'
import { type AlarmRules, Settings } from '../../../app/contract/settings.ts'
import { CertificatePattern } from '../../../app/records/certificate-series.ts'
import { type FieldSpec, readForm, type Texts, textsOf } from '../../parts/forms.ts'
import { CELSIUS_UNITS, SECOND_UNITS } from '../../text/numbers.ts'
import { type Change, type UndoAct, type Undoable, undoable, withUndo } from '../../text/undo.ts'

/** The station's own settings and alarm rules as forms. */

export const SETTINGS_FIELDS: readonly FieldSpec[] = [
  { key: 'laboratory.name', label: 'Name of the laboratory', type: 'text' },
  { key: 'laboratory.address', label: 'Address', type: 'lines', about: 'One line for each.' },
  { key: 'laboratory.country', label: 'Country', type: 'text', about: 'Two letters, as in ISO 3166.' },
  { key: 'laboratory.accreditation', label: 'Accreditation', type: 'text', optional: true },
  {
    key: 'laboratory.procedure',
    label: 'Calibration procedure',
    type: 'text',
    optional: true,
    about: 'Number and issue, as the report names it.',
  },
  {
    key: 'backupFolder',
    label: 'Folder for backups',
    type: 'text',
    optional: true,
    about: 'On another disk, best of all in another building.',
  },
  { key: 'paper', label: 'Paper', type: 'choice', choices: ['A4', 'Letter'].map((id) => ({ id, name: id })) },
  {
    key: 'decimalSign',
    label: 'Decimal sign',
    type: 'choice',
    choices: [
      { id: '.', name: 'Point' },
      { id: ',', name: 'Comma' },
    ],
    about: 'On screen and paper; files always carry a point.',
  },
  {
    key: 'certificatePattern',
    label: 'Numbers of certificates',
    type: 'text',
    about: 'Such as QTL-{year}-{number:4}: {number} once, {number:4} for four digits at least.',
  },
  {
    key: 'stampUrl',
    label: 'Time stamping service',
    type: 'text',
    optional: true,
    about:
      'Address of a service of RFC 3161, such as http://stamp.example/tsa. Signatures and the record’s last hash get its stamp.',
  },
  { key: 'interpolationStepK', label: 'Step of the report’s table', type: 'number', unit: 'K' },
  {
    key: 'coverageProbability',
    label: 'Coverage probability',
    type: 'number',
    about: '0.9545 gives k near 2.',
  },
  {
    key: 'bathWhenEnded',
    label: 'Bath when the station is ended in a session',
    type: 'choice',
    choices: [
      { id: 'stay', name: 'Stays at its setpoint' },
      { id: 'safe', name: 'Goes to its safe setpoint' },
    ],
    about:
      'By the system, by a signal or with the window. The session stays open and its record says what became of the bath.',
  },
]

/** Where readings, events and points are sent on to, for laboratories with many stations. */
export const FORWARD_FIELDS: readonly FieldSpec[] = [
  {
    key: 'forward.mqtt.url',
    label: 'MQTT broker',
    type: 'text',
    optional: true,
    about: 'Such as mqtt://broker.example:1883. A password is taken from STILLPOINT_MQTT_PASSWORD.',
  },
  { key: 'forward.mqtt.topic', label: 'Topic', type: 'text', optional: true, about: 'Such as lab/bench-1.' },
  {
    key: 'forward.postgres.url',
    label: 'PostgreSQL database',
    type: 'text',
    optional: true,
    about: 'Such as postgres://station@archive.example/lab. A password is taken from PGPASSWORD or .pgpass.',
  },
]

/** The database that several benches share, so that they are one laboratory. */
export const LABORATORY_FIELDS: readonly FieldSpec[] = [
  {
    key: 'sharedRegister.url',
    label: 'Database of the laboratory',
    type: 'text',
    optional: true,
    about:
      'PostgreSQL that all benches share: one register, one series of numbers, one list of sessions. Such as postgres://bench@laboratory.example/lab; a password is taken from PGPASSWORD or .pgpass.',
  },
  {
    key: 'sharedRegister.bench',
    label: 'Name of this bench',
    type: 'text',
    optional: true,
    about: 'As the other benches are to call it.',
  },
  {
    key: 'onlookersSeeBenches',
    label: 'Onlookers see all benches',
    type: 'flag',
    choices: [
      { id: 'no', name: 'No' },
      { id: 'yes', name: 'Yes' },
    ],
  },
]

/** A picture for the head of a report, as the address that holds it. */
export const LOGO = 'laboratory.logo'
export const LARGEST_LOGO = 300_000
const LOGO_FIELD: FieldSpec = { key: LOGO, label: 'Logo', type: 'text', optional: true }

const ALL_FIELDS = [...SETTINGS_FIELDS, ...FORWARD_FIELDS, ...LABORATORY_FIELDS, LOGO_FIELD]

export interface ReadSettings {
  settings: Settings | undefined
  problems: Record<string, string>
}

export const settingsTexts = (settings: Settings): Texts => textsOf(settings, ALL_FIELDS)

/** The settings that the texts make; what is wrong is named by its field. */
export function readSettings(texts: Texts, old: Settings): ReadSettings {
  const { record, problems: unread } = readForm(texts, ALL_FIELDS)
  const problems = { ...unread, ...addressProblems(texts), ...certificateProblems(texts) }
  if (Object.keys(problems).length > 0) return { settings: undefined, problems }
  const given = record as { laboratory: object; forward?: Partial<Settings['forward']> }
  const forward = { mqtt: null, postgres: null, ...given.forward }
  const { accreditation: _accreditation, logo: _logo, ...kept } = old.laboratory
  const laboratory = { ...kept, ...given.laboratory }
  const parsed = Settings.safeParse({
    ...old,
    backupFolder: null,
    stampUrl: null,
    sharedRegister: null,
    ...record,
    laboratory,
    forward,
  })
  if (parsed.success) return { settings: parsed.data, problems }
  const issue = parsed.error.issues[0]
  return {
    settings: undefined,
    problems: { [issue?.path.join('.') ?? 'whole']: issue?.message ?? 'Not complete' },
  }
}

/** What is wrong with the numbers of certificates and with where their stamps come from. */
function certificateProblems(texts: Texts): Record<string, string> {
  const found: Record<string, string> = {}
  const pattern = CertificatePattern.safeParse(texts.certificatePattern?.trim())
  if (!pattern.success) found.certificatePattern = first(pattern.error.issues).message
  const stamp = texts.stampUrl?.trim() ?? ''
  if (stamp !== '' && !/^https?:$/.test(URL.canParse(stamp) ? new URL(stamp).protocol : ''))
    found.stampUrl = 'An address that begins with http:// or https://'
  return found
}

function addressProblems(texts: Texts): Record<string, string> {
  const found: Record<string, string> = {}
  const look = (key: string, schemes: readonly string[]) => {
    const text = texts[key]?.trim() ?? ''
    if (text === '') return
    const url = URL.canParse(text) ? new URL(text) : undefined
    if (!url || !schemes.includes(url.protocol.slice(0, -1))) {
      found[key] = `An address that begins with ${schemes.map((s) => `${s}://`).join(' or ')}`
    } else if (url.password !== '') found[key] = 'Leave the password out; see below where it is taken from'
  }
  look('forward.mqtt.url', ['mqtt', 'mqtts', 'ws', 'wss'])
  look('forward.postgres.url', ['postgres', 'postgresql'])
  look('sharedRegister.url', ['postgres', 'postgresql'])
  const [base, bench] = [texts['sharedRegister.url']?.trim(), texts['sharedRegister.bench']?.trim()]
  if (base && !bench) found['sharedRegister.bench'] = 'Say what the other benches are to call this one'
  if (bench && !base) found['sharedRegister.url'] = 'A database is needed with a name'
  const [url, topic] = [texts['forward.mqtt.url']?.trim(), texts['forward.mqtt.topic']?.trim()]
  if (url && !topic) found['forward.mqtt.topic'] = 'A topic is needed with a broker'
  if (topic && !url) found['forward.mqtt.url'] = 'A broker is needed with a topic'
  return found
}

export type SettingsAct = { do: 'load'; texts: Texts } | { do: 'text'; key: string; text: string }

const editTexts = withUndo(
  (texts: Texts, act: Exclude<SettingsAct, { do: 'load' }>): Texts =>
    texts[act.key] === act.text ? texts : { ...texts, [act.key]: act.text },
  (_texts, { key }): Change => {
    const spec = ALL_FIELDS.find((field) => field.key === key)
    return { words: spec?.label ?? key, typing: spec?.type === 'choice' ? undefined : key }
  },
)

/** What came from the station is where editing begins; each edit of it can be taken back. */
export const settingsReduce = (state: Undoable<Texts>, act: UndoAct<SettingsAct>): Undoable<Texts> =>
  act.do === 'load' ? undoable(act.texts) : editTexts(state, act)

type Rule = AlarmRules['rules'][number]

interface KindWords {
  name: string
  above?: string
  below?: string
  /** Unit that a limit is typed in, others that are understood, and how many of the record's unit it is. */
  unit: string
  units?: Readonly<Record<string, number>>
  scale?: number
  /** What the station takes where no limit is given, in the record's unit. */
  usual?: number
  /** What a person does about it. */
  todo: string
}

/** How each quantity of the table is typed. */
const TYPED: Record<AlarmRow['unit'], Pick<KindWords, 'unit' | 'units' | 'scale'>> = {
  '': { unit: '' },
  '°C': { unit: '°C', units: CELSIUS_UNITS },
  'mK/min': { unit: 'mK/min', units: { 'mK/min': 1, 'K/min': 1000 } },
  s: { unit: 's', units: SECOND_UNITS },
  bytes: { unit: 'GB', units: { GB: 1, MB: 1e-3, TB: 1e3 }, scale: 1e9 },
  days: { unit: 'days', units: { days: 1, d: 1 } },
}

export const KIND_WORDS: Record<Rule['kind'], KindWords> = Object.fromEntries(
  ALARM_KINDS.map((kind) => {
    const { when: _when, severity: _severity, unit, ...words }: AlarmRow = ALARM_TABLE[kind]
    return [kind, { ...words, ...TYPED[unit] }]
  }),
) as Record<Rule['kind'], KindWords>

/** What is missing of a rule, if anything; such a rule would never speak. */
export function ruleProblem(rule: Rule): string | undefined {
  const { above, below, usual } = KIND_WORDS[rule.kind]
  if (usual !== undefined || (above === undefined && below === undefined)) return undefined
  if (
    rule.kind === 'value' &&
    rule.above !== undefined &&
    rule.below !== undefined &&
    rule.above <= rule.below
  )
    return 'The upper limit must lie above the lower one.'
  const given =
    (above !== undefined && rule.above !== undefined) || (below !== undefined && rule.below !== undefined)
  return given ? undefined : 'Without a limit this rule says nothing. Give one.'
}

export type RulesAct =
  | { do: 'load'; rules: AlarmRules }
  | { do: 'set'; part: Partial<AlarmRules> }
  | { do: 'rule'; id: string; part: Partial<Rule> }
  | { do: 'subject'; id: string; subject: string | undefined }
  | { do: 'limit'; id: string; side: 'above' | 'below'; value: number | undefined }
  | { do: 'add' }
  | { do: 'remove'; id: string }

export function rulesReduce(rules: AlarmRules, act: RulesAct): AlarmRules {
  const change = (id: string, to: (rule: Rule) => Rule): AlarmRules => ({
    ...rules,
    rules: rules.rules.map((rule) => (rule.id === id ? to(rule) : rule)),
  })
  switch (act.do) {
    case 'load':
      return act.rules
    case 'set':
      return { ...rules, ...act.part }
    case 'rule':
      return change(act.id, (rule) => ({ ...rule, ...act.part }))
    case 'subject':
      return change(act.id, (rule) => {
        const { subject: _old, ...rest } = rule
        return act.subject === undefined ? rest : { ...rest, subject: act.subject }
      })
    case 'limit':
      return change(act.id, (rule) => {
        const { [act.side]: _old, ...rest } = rule
        return act.value === undefined ? rest : { ...rest, [act.side]: act.value }
      })
    case 'add': {
      const taken = new Set(rules.rules.map(({ id }) => id))
      let n = rules.rules.length + 1
      while (taken.has(`rule-${n}`)) n++
      return {
        ...rules,
        rules: [
          ...rules.rules,
          { id: `rule-${n}`, kind: 'value', hysteresis: 0, severity: 'warning', enabled: true },
        ],
      }
    }
    case 'remove':
      return { ...rules, rules: rules.rules.filter(({ id }) => id !== act.id) }
  }
}

const PART_WORDS: Partial<Record<keyof AlarmRules, string>> = {
  sound: 'the sound at the station',
  email: 'the telling by e-mail',
  webhook: 'the telling of another program',
}

/** What an edit of the rules is, in words that fit behind 'Taken back: '. */
function rulesChange(rules: AlarmRules, act: RulesAct): Change {
  const ruleWords = (id: string) => {
    const at = rules.rules.findIndex((rule) => rule.id === id)
    const rule = rules.rules[at]
    return rule ? `rule ${at + 1}, ${KIND_WORDS[rule.kind].name.toLowerCase()}` : 'a rule'
  }
  switch (act.do) {
    case 'load':
      return { words: 'the rules' }
    case 'set': {
      const part = Object.keys(act.part)[0] as keyof AlarmRules
      const turned = rules[part] === null || (act.part as Record<string, unknown>)[part] === null
      return {
        words: PART_WORDS[part] ?? 'the rules',
        typing: part === 'sound' || turned ? undefined : part,
      }
    }
    case 'rule':
    case 'subject':
      return { words: ruleWords(act.id) }
    case 'limit':
      return { words: `the limit of ${ruleWords(act.id)}`, typing: `${act.id} ${act.side}` }
    case 'add':
      return { words: 'one rule more' }
    case 'remove':
      return { words: `the removal of ${ruleWords(act.id)}` }
  }
}

const editRules = withUndo(rulesReduce, rulesChange)
export const rulesEdit = (state: Undoable<AlarmRules>, act: UndoAct<RulesAct>): Undoable<AlarmRules> =>
  act.do === 'load' ? undoable(act.rules) : editRules(state, act)

export const ALARM_OPTIONS = ALARM_KINDS.map((id) => ({ id, name: KIND_WORDS[id].name }))
