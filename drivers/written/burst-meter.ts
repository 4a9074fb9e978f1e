import { at } from '../../app/base/lists.ts'
import { readBlock } from '../language/blocks.ts'
import { defineDriver } from '../profile/define.ts'
import { readValue } from '../profile/reply.ts'
import type { ProfileText } from '../profile/schema.ts'

/**
 * A driver where a profile is not enough: the DM-7 of the lab in a box, used so that each reading is the middle one of
 * five triggered one after the other, which keeps a single disturbed one out. A profile lists commands; this needs a loop
 * and a choice. The value is still one that the instrument sent.
 */
const BURST = 5

const set = (doc: string, send: string) => ({ doc, send, risk: 'setting' }) as const
const get = (doc: string, send: string) =>
  ({ doc, send, risk: 'read-only', answer: { kind: 'text' } }) as const
const bits = { risk: 'read-only', answer: { kind: 'bits' } } as const
const idle = { everyMs: 50, longestMs: 2000, clear: 16 }

const table: ProfileText = {
  format: 'stillpoint profile 2',
  id: 'lab-dm-7-burst',
  title: 'Resistance meter DM-7 of the lab in a box, middle of five',
  role: 'meter',
  language: 'scpi',
  unit: 'ohm',
  inputs: { count: 2, names: ['FRON', 'REAR'] },
  link: { serial: { baud: 38_400 }, tcp: { port: 5307 } },
  framing: { send: '\r\n', receive: '\n', maxBytes: 8192, blocks: true },
  identity: {
    ask: 'identify',
    pattern: '^(?<maker>QUENNICK),(?<model>DM-7),(?<serial>[^,]*),(?<firmware>.*)$',
  },
  prepare: ['clear', 'function', 'source', 'count'],
  watch: { ask: 'events', powerUp: 128, error: 60 },
  errors: { kind: 'queue', ask: 'next-error' },
  commands: {
    identify: get('Maker, model, serial number and firmware.', '*IDN?'),
    clear: set('Empties the registers.', '*CLS'),
    events: { doc: 'The standard event status register; asking clears it.', send: '*ESR?', ...bits },
    'next-error': get('The oldest entry of the error queue.', 'SYSTem:ERRor[:NEXT]?'),
    function: set('What is measured: four-wire resistance.', 'CONFigure:FRESistance'),
    source: set('What starts a reading: a trigger over the link.', 'TRIGger:SOURce BUS'),
    count: set('How many readings are taken for each start.', `TRIGger:COUNt ${BURST}`),
    select: set('The input that is measured.', 'ROUTe:TERMinals {input}'),
    arm: set('Arms the measurement: it waits for triggers.', 'INITiate'),
    trigger: { ...set('Starts the next reading.', '*TRG'), trigger: true },
    ready: {
      doc: 'The operation condition until nothing is measured.',
      send: 'STATus:OPERation:CONDition?',
      ...bits,
      poll: idle,
    },
    trace: get('The resistance: all readings of this start.', 'TRACe:DATA?'),
  },
  capabilities: { 'select-input': ['select'], measure: ['arm', 'trigger', 'ready', 'trace'] },
}

export const burstMeter = defineDriver('drivers/written/burst-meter.ts', {
  ...table,
  measure: async ({ perform }) => {
    let done = await perform('arm')
    for (let i = 0; i < BURST && done.ok; i++) {
      done = await perform('trigger')
      if (done.ok) done = await perform('ready')
    }
    if (done.ok) done = await perform('trace')
    if (!done.ok || done.read.kind !== 'text') return done
    const lines = readBlock(done.read.text)
      ?.split('\n')
      .map((line) => /^(\S+) OHM$/.exec(line)?.[1])
    const sorted = lines?.every((text) => text !== undefined)
      ? lines.toSorted((a, b) => Number(a) - Number(b))
      : []
    if (sorted.length !== BURST)
      return { ...done, ok: false, why: 'garbled', words: `not ${BURST} readings in the block` }
    return { ...done, read: readValue(at(sorted, (BURST - 1) / 2), 'ohm') }
  },
})
