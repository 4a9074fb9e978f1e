import { z } from 'zod'
import { CertificatePattern } from '../records/certificate-series.ts'
import { SessionSetup } from '../records/session.ts'
import { ALARM_KINDS, SEVERITIES } from './alarm-kinds.ts'

/** What one station keeps about itself. Secrets (SMTP password) are never in here. */
export const Settings = z.strictObject({
  laboratory: SessionSetup.shape.laboratory,
  backupFolder: z.string().nullable().default(null),
  paper: z.enum(['A4', 'Letter']).default('A4'),
  /** Decimal sign on screen and paper; files always carry a point. */
  decimalSign: z.enum(['.', ',']).default('.'),
  /** How certificates are numbered. */
  certificatePattern: CertificatePattern.default('{year}-{number:4}'),
  /** Stamping service of RFC 3161; null: signatures bear no stamp. */
  stampUrl: z
    .url({ protocol: /^https?$/ })
    .nullable()
    .default(null),
  interpolationStepK: z.number().positive().default(10),
  coverageProbability: z.number().gt(0.5).lt(1).default(0.9545),
  /** The bath where the station is asked to end in the middle of a session: it stays, or goes to its safe setpoint. */
  bathWhenEnded: z.enum(['stay', 'safe']).default('stay'),
  /** Who measured a session does not sign its report. */
  measurerMaySign: z.boolean().default(true),
  /** A report is signed only where this very program is validated and accepted. */
  signOffNeedsValidation: z.boolean().default(false),
  /** Database that the benches of the laboratory share, and what this bench is called there; null: a laboratory of one. */
  sharedRegister: z
    .strictObject({ url: z.string().min(1), bench: z.string().trim().min(1).max(80) })
    .nullable()
    .default(null),
  /** Whoever only looks on sees the other benches of the laboratory too. */
  onlookersSeeBenches: z.boolean().default(false),
  forward: z
    .strictObject({
      mqtt: z.strictObject({ url: z.string(), topic: z.string() }).nullable().default(null),
      postgres: z.strictObject({ url: z.string() }).nullable().default(null),
    })
    .prefault({}),
})
export type Settings = z.output<typeof Settings>

/** What of the settings is the laboratory's, the same at every bench of it. */
export const LaboratorySettings = Settings.pick({
  laboratory: true,
  certificatePattern: true,
  stampUrl: true,
  interpolationStepK: true,
  coverageProbability: true,
  measurerMaySign: true,
  signOffNeedsValidation: true,
})
export type LaboratorySettings = z.output<typeof LaboratorySettings>

export const AlarmRules = z.strictObject({
  rules: z.array(
    z.strictObject({
      id: z.string(),
      kind: z.enum(ALARM_KINDS),
      /** Channel or instrument; absent: all. */
      subject: z.string().optional(),
      /** value: degC high limit; drift: mK/min; silence: s; disk: bytes; calibration-due: days. */
      above: z.number().optional(),
      below: z.number().optional(),
      /** Must fall back by this before the alarm ends. */
      hysteresis: z.number().nonnegative().default(0),
      severity: z.enum(SEVERITIES).default('warning'),
      enabled: z.boolean().default(true),
    }),
  ),
  /** Alarms within this long of one another go out as one message, s. */
  groupS: z.number().nonnegative().default(60),
  email: z
    .strictObject({
      host: z.string(),
      port: z.int(),
      from: z.string(),
      to: z.array(z.string()),
      user: z.string().nullable(),
      /** A person has decided that mail may go out unencrypted, to a server within the house say. */
      withoutTls: z.boolean().default(false),
    })
    .nullable()
    .default(null),
  webhook: z.strictObject({ url: z.string() }).nullable().default(null),
  sound: z.boolean().default(true),
})
export type AlarmRules = z.output<typeof AlarmRules>
