import type { ReactNode } from 'react'
import { counted } from '../../app/base/plural.ts'
import { duration, utcTime } from '../../app/base/times.ts'
import type { ArchiveRow, VerifyResult } from '../../app/contract/studies.ts'
import { ENDING_WORDS, type SessionEvent } from '../../app/records/session.ts'
import { Button } from '../parts/Button.tsx'
import { Choice, type Finder } from '../parts/Choice.tsx'
import { Problem } from '../parts/Problem.tsx'
import { bytes } from '../text/numbers.ts'
import { localDateTime } from '../text/times.ts'
import { FORMATS, type Format } from './archive.model.ts'
import { Events } from './Events.tsx'

interface Props {
  row: ArchiveRow
  /** Names of its channels. */
  channels: readonly string[]
  /** When its copy in the backup folder was made; null where there is none of what it holds today. */
  copiedUtcUs: number | null
  events: readonly SessionEvent[]
  /** Events there are in all, and how to ask for more of them. */
  eventCount: number
  onMoreEvents: () => void
  /** Shows a moment of the session in its replay. */
  onMoment: (utcUs: number) => void
  others: readonly ArchiveRow[]
  /** Where more sessions can be compared with than are offered. */
  finder: Finder | undefined
  plot: ReactNode
  replay: ReactNode
  comparison: ReactNode
  verify: VerifyResult | undefined
  /** What is being done, if anything. */
  working: string | undefined
  problem: string | undefined
  format: Format
  onFormat: (format: Format) => void
  onExport: () => void
  onOpenPoints: () => void
  onVerify: () => void
  onBackup: () => void
  onAnnotate: () => void
  onCompare: (other: string) => void
  onReplay: () => void
  onClose: (() => void) | undefined
}

/** One past session and all that can be done with it. */
export function SessionDetail(props: Props) {
  const { row, events, others, plot, verify, working, problem } = props
  const { info } = row
  return (
    <article className="stack" aria-label={info.name}>
      <div className="row row-apart">
        <h2 className="place-title">{info.name}</h2>
        {props.onClose && (
          <Button look="quiet" onPress={props.onClose}>
            Close
          </Button>
        )}
      </div>
      <div className="row">
        <Button look="main" onPress={props.onOpenPoints}>
          Points and report
        </Button>
        <Button onPress={props.onReplay}>Replay</Button>
        <Button right="operate" onPress={props.onAnnotate}>
          Annotate
        </Button>
        <Button onPress={props.onVerify}>Verify</Button>
        <Button right="operate" onPress={props.onBackup}>
          Back up
        </Button>
        <Choice
          label="Compare with"
          compact
          value="-"
          options={[
            { id: '-', name: 'Compare with' },
            { id: 'now', name: 'The same readings with today’s coefficients' },
            ...others.map((o) => ({ id: o.info.id, name: o.info.name })),
          ]}
          finder={props.finder}
          onChange={(id) => id !== '-' && props.onCompare(id)}
        />
        <span className="row row-tight">
          <Choice label="Format" compact value={props.format} options={FORMATS} onChange={props.onFormat} />
          <Button onPress={props.onExport}>Export</Button>
        </span>
      </div>
      {working && (
        <p className="working" role="status">
          {working}
        </p>
      )}
      <Problem words={problem ?? row.damaged ?? undefined} />
      {verify && (
        <div className={`check check-${verify.whole ? 'fine' : 'stop'}`} role="status">
          <strong>{verify.words}</strong>
          {verify.firstBreak && <small>{verify.firstBreak}</small>}
          <small className="hash">{`Head of the chain ${verify.head}`}</small>
        </div>
      )}
      {props.replay}
      {props.comparison}
      {plot}
      <div className="halves">
        <dl className="facts">
          <dt>Operator</dt>
          <dd>{info.operator}</dd>
          <dt>Began</dt>
          <dd title={utcTime(info.startedUtcUs)}>{localDateTime(info.startedUtcUs)}</dd>
          <dt>Ended</dt>
          <dd>
            {info.endedUtcUs === null
              ? 'still running'
              : `${localDateTime(info.endedUtcUs)}, after ${duration((info.endedUtcUs - info.startedUtcUs) / 1e6)}`}
          </dd>
          <dt>How</dt>
          <dd>
            {info.ending
              ? ENDING_WORDS[info.ending] + (info.endingReason ? `: ${info.endingReason}` : '')
              : '–'}
          </dd>
          <dt>Kept</dt>
          <dd>{`${counted(row.readings, 'reading')}, ${counted(row.points, 'point')}, ${bytes(row.bytes)}`}</dd>
          <dt>Copy</dt>
          <dd title={props.copiedUtcUs === null ? undefined : utcTime(props.copiedUtcUs)}>
            {copyWords(info.endedUtcUs, props.copiedUtcUs)}
          </dd>
          <dt>Channels</dt>
          <dd>
            {props.channels.slice(0, 12).join(', ') +
              (props.channels.length > 12 ? ` and ${props.channels.length - 12} more` : '')}
          </dd>
          <dt>Program</dt>
          <dd>{`${info.program} ${info.programVersion}`}</dd>
        </dl>
        <section>
          <h3>What happened</h3>
          <Events
            events={events}
            total={props.eventCount}
            more={props.onMoreEvents}
            onMoment={props.onMoment}
          />
        </section>
      </div>
    </article>
  )
}

function copyWords(endedUtcUs: number | null, copiedUtcUs: number | null): string {
  if (copiedUtcUs !== null) return `made and verified ${localDateTime(copiedUtcUs)}`
  return endedUtcUs === null
    ? 'made when the session has ended'
    : 'none yet; choose a backup folder in the settings'
}
