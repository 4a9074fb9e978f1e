import { execFileSync, spawnSync } from 'node:child_process'
import { mkdtempSync, readFileSync, rmSync } from 'node:fs'
import { createServer, type IncomingMessage, type Server, type ServerResponse } from 'node:http'
import type { AddressInfo } from 'node:net'
import { tmpdir } from 'node:os'
import { join } from 'node:path'
import { getCACertificates, setDefaultCACertificates } from 'node:tls'
import pino from 'pino'
import { SMTPServer } from 'smtp-server'
import { afterEach, beforeEach, describe, expect, it } from 'vitest'
import { AlarmRules } from '../../app/contract/settings.ts'
import { asTold } from '../../app/messages/said.ts'
import { AlarmDesk } from '../../main/station/alarm-desk.ts'
import { AlarmPost } from '../../main/station/alarm-post.ts'
import { RealClock } from '../../main/station/clocks/real.ts'
import { VirtualClock } from '../../main/station/clocks/virtual.ts'
import { EVENING_US, openBox, planOf } from './box.ts'

const clock = new RealClock()
const quiet = pino({ level: 'silent' })

const hasOpenssl = spawnSync('openssl', ['version']).status === 0

const hasPython = spawnSync('/usr/bin/python3', ['-c', '']).status === 0
const READ_MAIL = `
import email, email.policy, json, sys
mail = email.message_from_bytes(sys.stdin.buffer.read(), policy=email.policy.default)
print(json.dumps({'subject': mail['subject'], 'bcc': mail['bcc'], 'body': mail.get_content()}))
`

/** A certificate that stands for itself. */
function certificateOf(address: string, folder: string): { key: Buffer; cert: Buffer } {
  const [key, cert] = [join(folder, 'mail.key'), join(folder, 'mail.crt')]
  const about = ['-subj', '/CN=mail', '-addext', `subjectAltName=IP:${address}`]
  execFileSync(
    'openssl',
    [
      'req',
      '-x509',
      '-newkey',
      'ec',
      '-pkeyopt',
      'ec_paramgen_curve:prime256v1',
      '-nodes',
      '-days',
      '2',
      ...about,
    ].concat(['-keyout', key, '-out', cert]),
    { stdio: 'ignore' },
  )
  return { key: readFileSync(key), cert: readFileSync(cert) }
}

/** A mail server on loopback that keeps what it is given. */
class MailSink {
  readonly mails: { to: string[]; text: string; user: string | undefined; secure: boolean }[] = []
  /** Passwords that were shown to it. */
  readonly shown: unknown[] = []
  readonly #server: SMTPServer

  /** `tls`: what it encrypts with; without, it cannot. */
  constructor(tls?: { key: Buffer; cert: Buffer }) {
    this.#server = new SMTPServer({
      authOptional: true,
      allowInsecureAuth: true,
      logger: false,
      ...(tls ?? { disabledCommands: ['STARTTLS'] }),
      onAuth: (auth, _session, done) => {
        this.shown.push(auth.password)
        if (auth.password === 'right') done(null, { user: auth.username })
        else done(new Error('wrong password'))
      },
      onData: (stream, session, done) => {
        let text = ''
        stream.on('data', (part) => {
          text += String(part)
        })
        stream.on('end', () => {
          const to = session.envelope.rcptTo.map((a) => a.address)
          this.mails.push({ to, text, user: session.user, secure: session.secure })
          done()
        })
      },
    })
  }

  async listen(): Promise<number> {
    // A client that turns away from it is no fault of the test.
    this.#server.on('error', () => undefined)
    await new Promise<void>((resolve) => this.#server.listen(0, '127.0.0.1', resolve))
    return (this.#server.server.address() as AddressInfo).port
  }

  close(): Promise<void> {
    return new Promise((resolve) => this.#server.close(resolve))
  }
}

/** An HTTP listener on loopback that answers with the statuses it is given, then 200. */
class Hook {
  readonly bodies: Record<string, unknown>[] = []
  readonly authorizations: (string | undefined)[] = []
  readonly #statuses: number[]
  readonly #server: Server

  constructor(statuses: number[] = []) {
    this.#statuses = statuses
    this.#server = createServer((request, response) => void this.#answer(request, response))
  }

  async #answer(request: IncomingMessage, response: ServerResponse): Promise<void> {
    let text = ''
    for await (const part of request) text += String(part)
    this.authorizations.push(request.headers.authorization)
    this.bodies.push(JSON.parse(text) as Record<string, unknown>)
    response.writeHead(this.#statuses.shift() ?? 200).end()
  }

  async listen(): Promise<string> {
    await new Promise<void>((resolve) => this.#server.listen(0, '127.0.0.1', resolve))
    return `http://127.0.0.1:${(this.#server.address() as AddressInfo).port}/alarms`
  }

  close(): Promise<void> {
    return new Promise((resolve) => this.#server.close(() => resolve()))
  }
}

const cause = (key: string, words = `${key} is wrong.`) =>
  ({ key, kind: 'silence', severity: 'warning', subject: null, said: asTold(words) }) as const

describe('AlarmDesk', () => {
  it('counts a cause that comes again up instead of listing it twice', () => {
    const desk = new AlarmDesk(clock)
    const told: string[] = []
    desk.onDidChange.on(({ what }) => told.push(what))
    for (let i = 0; i < 5; i++) {
      desk.raise(cause('a'))
      desk.end('a')
    }
    expect(desk.list()).toHaveLength(1)
    expect(desk.list()[0]).toMatchObject({ count: 5, active: false })
    expect(told.filter((t) => t === 'raised')).toHaveLength(1)
  })

  it('tells again of a cause that comes back after an hour', async () => {
    const later = new VirtualClock({ startUtcUs: EVENING_US })
    const desk = new AlarmDesk(later)
    const told: number[] = []
    desk.onDidChange.on(({ what, alarm }) => {
      if (what === 'raised') told.push(alarm.count)
    })
    for (let minute = 0; minute < 130; minute += 10) {
      desk.raise(cause('a'))
      desk.end('a')
      await later.sleep(600_000)
    }
    later.stop()
    expect(told).toEqual([1, 7, 13])
  })

  it('keeps by whom and when an alarm was acknowledged, and raises its cause anew after that', () => {
    const desk = new AlarmDesk(clock)
    desk.raise(cause('a'))
    desk.acknowledge(desk.list()[0]!.id, 'M. Ode')
    expect(desk.list()[0]!.acknowledgedBy).toBe('M. Ode')
    expect(desk.list()[0]!.acknowledgedUtcUs).toBeGreaterThan(0)
    desk.end('a')
    desk.raise(cause('a'))
    expect(desk.list()).toHaveLength(2)
    expect(() => desk.acknowledge('nothing', 'M. Ode')).toThrow('no longer on the list')
  })

  it('forgets ended alarms, never running ones, when there are too many', () => {
    const desk = new AlarmDesk(clock)
    desk.raise(cause('running'))
    for (let i = 0; i < 2_000; i++) {
      desk.raise(cause(`k${i}`))
      desk.end(`k${i}`)
    }
    expect(desk.list(5_000).length).toBeLessThanOrEqual(1_000)
    expect(desk.active.map((a) => a.words)).toEqual(['running is wrong.'])
  })
})

describe('AlarmPost', () => {
  let folder: string
  beforeEach(() => {
    folder = mkdtempSync(join(tmpdir(), 'stillpoint-post-'))
  })
  afterEach(() => rmSync(folder, { recursive: true }))

  function post(rules: Partial<AlarmRules>, smtpPassword?: string, webhookToken?: string) {
    const desk = new AlarmDesk(clock)
    const all = AlarmRules.parse({ rules: [], groupS: 0.1, ...rules })
    const made = new AlarmPost({
      folder,
      clock,
      desk,
      log: quiet,
      rules: () => all,
      from: () => 'Bench 1, session Night',
      smtpPassword,
      webhookToken,
    })
    return { desk, post: made }
  }

  async function until(holds: () => boolean): Promise<void> {
    for (let i = 0; i < 200 && !holds(); i++) await clock.sleep(25)
  }

  it('sends alarms near one another as one e-mail, through a real mail server', async () => {
    const sink = new MailSink()
    const port = await sink.listen()
    const { desk, post: made } = post(
      {
        email: {
          host: '127.0.0.1',
          port,
          from: 'bench@lab.test',
          to: ['a@lab.test', 'b@lab.test'],
          user: 'bench',
          withoutTls: true,
        },
      },
      'right',
    )
    desk.raise(cause('a', 'The bath is silent.'))
    desk.raise({ ...cause('b', 'The bath is too hot.'), severity: 'alarm' })
    await until(() => sink.mails.length > 0)
    made.dispose()
    await made.idle()
    await sink.close()
    expect(sink.mails).toHaveLength(1)
    const mail = sink.mails[0]!
    expect(mail.to).toEqual(['a@lab.test', 'b@lab.test'])
    expect(mail.user).toBe('bench')
    expect(mail.text).toContain('Subject: Stillpoint alarm: The bath is too hot. (and 1 more)')
    expect(mail.text).toContain('The bath is silent.')
    expect(mail.text).toContain('Bench 1, session Night')
    expect(made.outbox).toEqual([])
  })

  const mailTo = (port: number, withoutTls = false) => ({
    ...{ host: '127.0.0.1', port, from: 'bench@lab.test', to: ['a@lab.test'], user: 'bench', withoutTls },
  })

  it('says nothing to a mail server that cannot encrypt, not even the password, and keeps the mail', async () => {
    const sink = new MailSink()
    const { desk, post: made } = post({ email: mailTo(await sink.listen()) }, 'right')
    desk.raise(cause('a', 'The bath is silent.'))
    await until(() => (made.outbox[0]?.attempts ?? 0) > 0)
    made.dispose()
    await made.idle()
    await sink.close()
    expect(made.outbox).toHaveLength(1)
    expect(sink.mails).toEqual([])
    expect(sink.shown).toEqual([])
  })

  it.skipIf(!hasOpenssl)('encrypts mail to a server it can know, and to no other', async () => {
    const tls = certificateOf('127.0.0.1', folder)
    const sink = new MailSink(tls)
    const port = await sink.listen()
    const strange = post({ email: mailTo(port) }, 'right')
    strange.desk.raise(cause('a', 'The bath is silent.'))
    await until(() => (strange.post.outbox[0]?.attempts ?? 0) > 0)
    strange.post.dispose()
    await strange.post.idle()
    expect(sink.shown).toEqual([])
    const before = getCACertificates('default')
    setDefaultCACertificates([...before, tls.cert.toString()])
    try {
      rmSync(join(folder, 'outbox.json'), { force: true })
      const known = post({ email: mailTo(port) }, 'right')
      known.desk.raise(cause('a', 'The bath is silent.'))
      await until(() => sink.mails.length > 0)
      known.post.dispose()
      await known.post.idle()
    } finally {
      setDefaultCACertificates(before)
    }
    await sink.close()
    expect(sink.mails).toMatchObject([{ user: 'bench', secure: true }])
  })

  it.skipIf(!hasPython)('carries whatever words an alarm has, read by a mail reader of its own', async () => {
    const sink = new MailSink()
    const words = 'A&amp;B "q" \u202eback\u202c ΔT\r\nBcc: else@lab.test\r\n\r\nsecond part 🌡'
    const { desk, post: made } = post({ email: mailTo(await sink.listen(), true) }, 'right')
    desk.raise({ ...cause('a', words), severity: 'alarm' })
    await until(() => sink.mails.length > 0)
    made.dispose()
    await made.idle()
    await sink.close()
    const read = JSON.parse(
      execFileSync('/usr/bin/python3', ['-c', READ_MAIL], { input: sink.mails[0]!.text, encoding: 'utf8' }),
    ) as { subject: string; bcc: string | null; body: string }
    expect(sink.mails[0]!.to).toEqual(['a@lab.test'])
    expect(read.bcc).toBeNull()
    expect(read.subject.replaceAll(/\s+/g, ' ')).toBe(`Stillpoint alarm: ${words}`.replaceAll(/\s+/g, ' '))
    expect(read.body.replaceAll('\r\n', '\n')).toContain(words.replaceAll('\r\n', '\n'))
  })

  it('shows a webhook its key in the head of the request and writes it nowhere', async () => {
    const hook = new Hook()
    const { desk, post: made } = post({ webhook: { url: await hook.listen() } }, undefined, 'hush-key')
    desk.raise(cause('a'))
    await until(() => hook.bodies.length > 0)
    made.dispose()
    await made.idle()
    await hook.close()
    expect(hook.authorizations).toEqual(['Bearer hush-key'])
    expect(JSON.stringify(hook.bodies)).not.toContain('hush')
    expect(readFileSync(join(folder, 'outbox.json'), 'utf8')).not.toContain('hush')
  })

  it('posts to a webhook and keeps what was refused for the next attempt, over a restart', async () => {
    const refusing = new Hook([503])
    const url = await refusing.listen()
    const first = post({ webhook: { url } })
    first.desk.raise(cause('a', 'The bath is silent.'))
    await until(() => (first.post.outbox[0]?.attempts ?? 0) > 0)
    first.post.dispose()
    await first.post.idle()
    expect(refusing.bodies).toHaveLength(1)

    // The pause has passed meanwhile as far as the outbox of the next life is concerned.
    const later = { ...clock, now: () => ({ ...clock.now(), utcUs: clock.now().utcUs + 60e6 }) }
    const second = new AlarmPost({
      folder,
      clock: {
        now: later.now,
        after: (ms, call) => clock.after(ms, call),
        sleep: (ms, signal) => clock.sleep(ms, signal),
      },
      desk: new AlarmDesk(clock),
      log: quiet,
      rules: () => AlarmRules.parse({ rules: [], webhook: { url } }),
      from: () => 'Bench 1',
    })
    await until(() => second.outbox.length === 0)
    second.dispose()
    await second.idle()
    await refusing.close()
    expect(refusing.bodies).toHaveLength(2)
    expect(refusing.bodies[1]).toMatchObject({ subject: 'Stillpoint warning: The bath is silent.' })
  })

  it('sends nothing of a kind that is switched off', async () => {
    const hook = new Hook()
    const url = await hook.listen()
    const { desk, post: made } = post({
      webhook: { url },
      rules: [{ id: 'x', kind: 'silence', hysteresis: 0, severity: 'warning', enabled: false }],
    })
    desk.raise(cause('a'))
    desk.raise({ ...cause('b'), kind: 'bath' })
    await until(() => hook.bodies.length > 0)
    made.dispose()
    await made.idle()
    await hook.close()
    expect(hook.bodies).toHaveLength(1)
    expect((hook.bodies[0]!.alarms as unknown[]).length).toBe(1)
  })
})

describe('AlarmWatch', () => {
  it('raises on a value past its limit once, ends it only after the hysteresis, and writes both in the record', async () => {
    const box = await openBox({ scenario: 'quiet' })
    try {
      const rule = {
        id: 'hot',
        kind: 'value',
        subject: 'ref',
        above: 30,
        hysteresis: 2,
        severity: 'alarm',
        enabled: true,
      }
      box.store.saveAlarmRules(AlarmRules.parse({ rules: [rule] }), 'test')
      box.station.touched('settings')
      await box.station.startPlan({ plan: planOf([35, 25]), operator: 'Test' })
      await box.station.finished
      const hot = box.station.state().alarms.filter((a) => a.words.includes('limit 30'))
      expect(hot).toHaveLength(1)
      expect(hot[0]).toMatchObject({ count: 1, active: false, severity: 'alarm', subject: 'ref' })
    } finally {
      await box.close()
    }
  })

  it('does not call a channel silent that waits its turn while others are measured at two currents, nor starves who looks after the reference', async () => {
    const box = await openBox({ scenario: 'demo' })
    try {
      const rule = { id: 'silence', kind: 'silence', above: 180, severity: 'warning' }
      box.store.saveAlarmRules(AlarmRules.parse({ rules: [rule] }), 'test')
      box.station.touched('settings')
      await box.station.startPlan({
        plan: planOf([25], { setpoints: [{ celsius: 25, selfHeating: true }] }),
        operator: 'Test',
        accept: box.station.preview(planOf([25])).checks.map((c) => c.id),
      })
      const silences: number[] = []
      let referenceS = 0
      const reference = box.station.session!.setup.bench.channels.find((c) => c.role === 'reference')!.id
      const channels = box.station.session!.setup.bench.channels.map((c) => c.id)
      const running = box.station.finished.then(() => true)
      while (!(await Promise.race([running, box.clock.sleep(10_000)]))) {
        const { session } = box.station
        if (!session) continue
        const silenceS = (id: string) => session.watch.silenceS(id, session.recorder.now())
        silences.push(...channels.map(silenceS))
        const ofReference = silenceS(reference)
        if (Number.isFinite(ofReference)) referenceS = Math.max(referenceS, ofReference)
      }
      // The order did keep channels waiting for longer than the rule allows.
      expect(Math.max(...silences.filter(Number.isFinite))).toBeGreaterThan(180)
      // The reference is read between the pairs of the others: far from the ten minutes after which a plan is stopped.
      expect(referenceS).toBeLessThan(300)
      expect((await box.station.finished).ending).toBe('complete')
      expect(box.station.state().alarms.filter((a) => a.words.includes('no usable reading'))).toEqual([])
    } finally {
      await box.close()
    }
  })

  it('does not storm while an instrument comes and goes', async () => {
    const box = await openBox({
      scenario: 'quiet',
      faults: Array.from({ length: 8 }, (_, i) => ({
        kind: 'port-vanish',
        atS: 300 + 400 * i,
        forS: 250,
        instrument: 'bridge',
      })),
    })
    try {
      await box.station.startPlan({ plan: planOf([25], { maxWaitS: 6000 }), operator: 'Test' })
      await box.station.finished
      const alarms = box.station.state().alarms.filter((a) => a.subject === 'bridge')
      expect(alarms).toHaveLength(1)
      expect(alarms[0]!.count).toBeGreaterThan(4)
    } finally {
      await box.close()
    }
  })
})
