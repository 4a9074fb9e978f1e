import { z } from 'zod'

/** One thing that happened to an entry of the register: a calibration, a session, a save. */
export const LifeEvent = z.strictObject({
  /** ISO 8601 day. */
  date: z.string(),
  kind: z.enum([
    'calibration',
    'wtp',
    'comparison',
    'survey',
    'check',
    'plateau',
    'session',
    'item',
    'repair',
    'change',
  ]),
  words: z.string(),
  who: z.string().nullable(),
  session: z.string().nullable(),
})
export type LifeEvent = z.output<typeof LifeEvent>

/** A session in a bath: how long the bath took to each setpoint until it was settled. */
export const BathNight = z.strictObject({
  session: z.string(),
  name: z.string(),
  who: z.string(),
  startedUtcUs: z.number(),
  steps: z.array(
    z.strictObject({
      fromC: z.number(),
      toC: z.number(),
      /** From the change of the setpoint until the settling rule held, s. */
      tookS: z.number(),
      /** Time in which what is left of a deviation falls to 1/e, s; null where the readings do not tell. */
      timeConstantS: z.number().nullable(),
    }),
  ),
})
export type BathNight = z.output<typeof BathNight>

/** What an entry of the register has done over the years; uncertainties expanded (k = 2) where they say so. */
export const LifeView = z.strictObject({
  events: z.array(LifeEvent),
  curves: z.array(
    z.strictObject({
      calibration: z.string(),
      date: z.string(),
      certificate: z.string(),
      laboratory: z.string(),
      points: z.array(
        z.strictObject({ celsius: z.number(), differenceMk: z.number(), expandedMk: z.number() }),
      ),
    }),
  ),
  forecast: z.array(
    z.strictObject({
      celsius: z.number(),
      mkPerYear: z.number(),
      uMkPerYear: z.number(),
      date: z.string(),
      movedMk: z.number(),
      expandedMk: z.number(),
    }),
  ),
  /** Of a bath: its newest sessions, the newest first. */
  nights: z.array(BathNight),
  advice: z.strictObject({ months: z.int(), words: z.string() }).nullable(),
})
export type LifeView = z.output<typeof LifeView>

export const LIFE_KINDS = ['thermometer', 'resistor', 'instrument', 'cell', 'bath'] as const
