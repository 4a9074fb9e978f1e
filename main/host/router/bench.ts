import { utcDay } from '../../../app/base/times.ts'
import { said } from '../../../app/messages/said.ts'
import type { Bench, LinkSpec } from '../../../app/records/bench.ts'
import {
  askWho,
  listSerialPorts,
  lookAround,
  rangeWords,
  tellProblem,
  tryProfile,
} from '../../../drivers/index.ts'
import { linksOf } from '../../../drivers/profile/reach.ts'
import { profileFor } from '../find-instruments.ts'
import { isScenario, LAB_LABORATORY, LAB_PLAN, placeLab } from '../lab-desk.ts'
import type { Services } from '../services.ts'
import { isOnlooker, nameOf, needRight, notFound, os, refused } from './base.ts'
import { benchForOnlookers } from './onlookers.ts'

/** How long answers from around are waited for. */
const AROUND_MS = 3000

export const benchRoutes = {
  get: os.bench.get.handler(({ context }) => {
    const { bench } = context.services.station
    return bench ? (isOnlooker(context) ? benchForOnlookers(bench) : bench) : null
  }),
  list: os.bench.list.handler(({ context }) =>
    context.services.store.records
      .list({ kinds: ['bench'], most: 10_000 })
      .rows.map(({ id, name }) => ({ id, name })),
  ),
  save: os.bench.save.handler(({ context, input }) => {
    const { station, store } = context.services
    const limits = (bench?: Bench) =>
      JSON.stringify(bench?.bath && { ...bench.bath, uniformityMk: 0, stabilityMk: 0 })
    const before = store.records.one('bench', input.bench.id)
    // What holds a bath within bounds is no matter of the evening.
    if (limits(input.bench) !== limits(before))
      needRight(
        context,
        'keep-records',
        'The bath of a bench, its limits and its fluid are set by who keeps the records.',
      )
    store.saveBenchAndBath(input.bench, nameOf(context), input.why)
    for (const what of ['bench', 'register'] as const) station.touched(what)
    return {
      words: station.session
        ? 'The bench is stored. The session that runs keeps the bench it started with.'
        : 'The bench is stored.',
    }
  }),
  choose: os.bench.choose.handler(async ({ context, input }) => {
    await context.services.station.endLook('Another bench is chosen.')
    context.services.station.chooseBench(input.id, nameOf(context))
    return { words: 'This bench is the one in use now.' }
  }),

  ports: os.bench.ports.handler(async () =>
    (await listSerialPorts()).map((port) => ({
      path: port.path,
      usbSerial: port.usbSerial ?? null,
      words:
        [port.maker, port.usbSerial && `serial number ${port.usbSerial}`].filter(Boolean).join(', ') ||
        'nothing known of it',
      usable: true,
    })),
  ),

  profiles: os.bench.profiles.handler(async ({ context }) => {
    // Where the folder cannot be watched, it is read when somebody looks.
    await context.services.profiles.reread()
    const { profiles, problems, folder } = context.services.profiles
    const good = [...profiles.values()].map(({ profile, source }) => ({
      id: profile.id,
      title: profile.title,
      role: profile.role,
      links: [...linksOf(profile)],
      from: source.startsWith(context.services.folder) ? ('user' as const) : ('program' as const),
      problem: null,
      ranges: (profile.ranges ?? []).map((range) => ({
        name: range.name,
        words: rangeWords(range, profile.unit ?? ''),
      })),
    }))
    const bad = problems.map((problem) => ({
      id: problem.id,
      title: problem.id,
      role: '',
      links: [],
      from: 'user' as const,
      problem: tellProblem(problem),
    }))
    return { folder, rows: [...good, ...bad] }
  }),

  tryInstrument: os.bench.tryInstrument.handler(async ({ context, input }) => {
    const { station, profiles, clock } = context.services
    await station.endLook('An instrument is tried.')
    if (station.session && station.links.get(input.instrument.id)) {
      refused(said('try-while-in-use', {}))
    }
    const driver = profiles.profiles.get(input.instrument.profile)
    if (!driver) notFound(said('no-such-profile', { profile: input.instrument.profile }))
    await station.disconnect()
    const attempts = await tryProfile({ driver, link: input.instrument.link, clock, settings: false })
    return attempts.map(({ what, outcome, words }) => ({
      what,
      worked: outcome === 'worked',
      words: outcome === 'skipped' ? `left out: ${words}` : words,
    }))
  }),

  look: os.bench.look.handler(async ({ context: { services } }) => {
    await services.station.look()
    const { links, session } = services.station.state()
    const silent = links.filter(({ state }) => state !== 'ready').map(({ name }) => name)
    if (silent.length > 0)
      return {
        words: `No answer yet from ${silent.join(', ')}. The station goes on trying; the drawing says when it answers.`,
      }
    return {
      words: session
        ? 'Connected. Watch shows what every channel reads.'
        : 'Connected. Add a channel to see what it reads.',
    }
  }),
  connect: os.bench.connect.handler(({ context }) => context.services.station.connect()),
  disconnect: os.bench.disconnect.handler(async ({ context }) => {
    await context.services.station.disconnect()
    return { words: 'All links are closed.' }
  }),

  startLab: os.bench.startLab.handler(async ({ context, input }) => {
    const { services } = context
    const { station, store, clock } = services
    await station.endLook('The lab in a box is started.')
    if (!isScenario(input.scenario)) refused(said('no-such-scenario', { scenario: input.scenario }))
    if (station.session) refused(said('lab-while-running', {}))
    await station.disconnect()
    await services.lab?.close()
    services.lab = await placeLab(store, clock, { seed: input.seed, scenario: input.scenario })
    const settings = store.settings()
    if (!settings) store.saveSettings(services.settings({ laboratory: LAB_LABORATORY }), 'lab in a box')
    station.chooseBench(services.lab.bench.id, 'lab in a box')
    for (const what of ['bench', 'plans', 'register', 'settings'] as const) station.touched(what)
    await station.connect()
    return {
      words: `The lab in a box runs. Its bench and register are set up${input.scenario === 'demo' ? `, and the plan "${LAB_PLAN.name}" is ready` : ''}.`,
    }
  }),

  adviseResistor: os.bench.adviseResistor.handler(async ({ context: { services }, input, signal }) => {
    const { thermometer, ...wanted } = input
    const dateIso = utcDay(services.clock.now().utcUs)
    const found = await services.reader
      .lists(signal)
      .resistors(services.folder, thermometer, { ...wanted, dateIso })
    return found.map(({ id, name, serves, uncertaintyMk, reasons }) => ({
      resistor: id,
      name,
      serves,
      partMk: Number.isFinite(uncertaintyMk) ? uncertaintyMk : null,
      words: reasons.join(' '),
    }))
  }),

  findHosts: os.bench.findHosts.handler(({ context, input }) =>
    identified(
      input.ports.map((port) => ({ kind: 'tcp', host: input.host, port })),
      context.services,
    ),
  ),

  findAround: os.bench.findAround.handler(({ context, input, signal }) =>
    lookAround({
      clock: context.services.clock,
      ms: AROUND_MS,
      announced: input.announced,
      networks: input.networks,
      ...(signal && { signal }),
    }),
  ),

  askWho: os.bench.askWho.handler(({ context, input }) => identified(input.links, context.services)),
}

/** Those of the links where somebody answers who it is, each with the profile that knows it. */
async function identified(
  links: readonly LinkSpec[],
  { clock, profiles }: Pick<Services, 'clock' | 'profiles'>,
) {
  const found = await Promise.all(
    links.map(async (link) => {
      const identity = await askWho(link, clock)
      return identity === undefined ? undefined : { link, identity, profile: profileFor(identity, profiles) }
    }),
  )
  return found.filter((entry) => entry !== undefined)
}
