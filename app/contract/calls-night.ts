import { z } from 'zod'
import { Bench, BenchInstrument, LinkSpec } from '../records/bench.ts'
import { CellPlan } from '../records/cell-plan.ts'
import { Plan } from '../records/plan.ts'
import { SessionSetup } from '../records/session.ts'
import { base, Id, Ok, Why } from './call.ts'
import { Foretold, PlanPreview, ProfileRow } from './studies.ts'
import { LinkView } from './views.ts'

/** Setting up a bench, planning a night and running it. */

export const benchCalls = {
  get: base.output(Bench.nullable()),
  list: base.output(z.array(z.strictObject({ id: z.string(), name: z.string() }))),
  save: base.input(z.strictObject({ bench: Bench, why: Why.default('') })).output(Ok),
  choose: base.input(z.strictObject({ id: Id })).output(Ok),
  /** Serial ports and what is known of them, with a hint where one cannot be opened. */
  ports: base.output(
    z.array(
      z.strictObject({
        path: z.string(),
        usbSerial: z.string().nullable(),
        words: z.string(),
        usable: z.boolean(),
      }),
    ),
  ),
  /** Profiles, and the folder in which a laboratory keeps its own. */
  profiles: base.output(z.strictObject({ folder: z.string(), rows: z.array(ProfileRow) })),
  /** Opens the link aside from any session, identifies, tries each capability, closes. */
  tryInstrument: base
    .input(z.strictObject({ instrument: BenchInstrument }))
    .output(z.array(z.strictObject({ what: z.string(), worked: z.boolean(), words: z.string() }))),
  connect: base.output(z.array(LinkView)),
  /** Connects and shows what the channels read at once, without a session; stored, and kept for a day. */
  look: base.output(Ok),
  disconnect: base.output(Ok),
  /** Starts a lab in a box beside the station and makes its bench, register and plan the current ones. */
  startLab: base
    .input(z.strictObject({ seed: z.int().default(1), scenario: z.string().default('demo') }))
    .output(Ok),
  adviseResistor: base
    .input(
      z.strictObject({
        thermometer: Id,
        lowC: z.number(),
        highC: z.number(),
        wantedMk: z.number().positive(),
      }),
    )
    .output(
      z.array(
        z.strictObject({
          resistor: Id,
          name: z.string(),
          serves: z.boolean(),
          partMk: z.number().nullable(),
          words: z.string(),
        }),
      ),
    ),
  /** Looks for instruments on the networks: nothing is asked of any of them. */
  findAround: base
    .input(z.strictObject({ announced: z.boolean(), networks: z.array(z.ipv4()).max(8).default([]) }))
    .output(
      z.array(
        z.strictObject({
          link: LinkSpec,
          /** What it calls itself, where it told that. */
          name: z.string(),
          /** Maker, model, serial number and version as it announced them. */
          told: z.string(),
          by: z.enum(['announced', 'broadcast', 'plugged-in']),
        }),
      ),
    ),
  /** Asks whoever answers at these links who it is (`*IDN?`, IEEE 488.2). */
  askWho: base
    .input(z.strictObject({ links: z.array(LinkSpec).max(64) }))
    .output(
      z.array(z.strictObject({ link: LinkSpec, identity: z.string(), profile: z.string().nullable() })),
    ),
  findHosts: base
    .input(z.strictObject({ host: z.string(), ports: z.array(z.int()).max(32) }))
    .output(
      z.array(z.strictObject({ link: LinkSpec, identity: z.string(), profile: z.string().nullable() })),
    ),
}

export const planCalls = {
  list: base.output(z.array(Plan)),
  save: base.input(z.strictObject({ plan: Plan, why: Why.default('') })).output(Ok),
  remove: base.input(z.strictObject({ id: Id })).output(Ok),
  preview: base.input(z.strictObject({ plan: Plan })).output(PlanPreview),
  /** Uncertainties before anything is started; takes longer than the preview. */
  foretell: base.input(z.strictObject({ plan: Plan })).output(Foretold),
}

export const runCalls = {
  start: base
    .input(
      z.strictObject({
        plan: Id,
        name: z.string().max(200).default(''),
        note: z.string().max(4000).default(''),
        job: SessionSetup.shape.job.default(null),
        /** Items of orders in the bath; absent: those that were put on the bench and whose thermometers are there. */
        items: z.array(Id).max(500).optional(),
        /** Warnings of the preview that the person has read and takes on. */
        accept: z.array(z.string()).default([]),
      }),
    )
    .output(z.strictObject({ session: z.string() })),
  /** Records without a plan, until stopped. */
  record: base
    .input(z.strictObject({ name: z.string().default('') }))
    .output(z.strictObject({ session: z.string() })),
  /** Leads a thermometer through a sequence of cells, and asks for each. */
  cells: base
    .input(z.strictObject({ name: z.string().max(200).default(''), cells: CellPlan }))
    .output(z.strictObject({ session: z.string() })),
  pause: base.input(z.strictObject({ why: Why })).output(Ok),
  resume: base.output(Ok),
  /** Reasons may follow as a note: at six in the morning the act comes first. */
  takeNow: base.input(z.strictObject({ why: Why.default('') })).output(Ok),
  skip: base.input(z.strictObject({ why: Why.default('') })).output(Ok),
  /** `why` is needed where a plan runs. */
  stop: base.input(z.strictObject({ why: Why.default('') })).output(Ok),
  answer: base.input(z.strictObject({ question: Id, choice: z.string() })).output(Ok),
  note: base.input(z.strictObject({ words: z.string().min(1).max(4000) })).output(Ok),
}
