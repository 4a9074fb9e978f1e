import { useMemo, useState } from 'react'
import { bridgeCheckWords, withBridgeCheck } from '../../../app/checks/check-record.ts'
import { proposedDue } from '../../../app/checks/next-due.ts'
import { useBridges, useResistors } from '../../client/records.ts'
import { useToday } from '../../client/state.ts'
import { usePage } from '../../page/page.ts'
import { Field } from '../../parts/Field.tsx'
import type { Texts } from '../../parts/forms.ts'
import { Bridge } from './Bridge.tsx'
import { BridgeResult } from './BridgeResult.tsx'
import { checks, useChecks } from './checks.store.ts'
import { FromSessionNow, type TakenRatio } from './FromSession.connect.tsx'
import { GUIDES } from './guides.ts'
import { RecordNow } from './Record.connect.tsx'
import {
  type BridgePage,
  knownRatio,
  readNetwork,
  resultOfRows,
  rowsOfNetworks,
  verdictOf,
  withTaken,
} from './ratios.model.ts'
import type { SessionChoice } from './sessions.connect.tsx'
import { dayOfSession } from './sessions.model.ts'
import { WholeBridgeNow } from './WholeBridge.connect.tsx'

const WANTED: Record<BridgePage, readonly string[]> = {
  interchange: ['n', 'n′, interchanged'],
  networks: ['n'],
  ratios: ['n as shown'],
}
const GUESS: Partial<Record<BridgePage, readonly RegExp[]>> = {
  interchange: [/^25 over 100/, /^100 over 25/],
}

const written = (value: number) => value.toPrecision(12)
const uncertain = (u: number) => u.toPrecision(3)

/** A row as ratios taken from a session fill it. */
function rowOf(page: BridgePage, [first, second]: readonly TakenRatio[]): Texts {
  const row = { name: first!.name, ratio: written(first!.mean), u: uncertain(first!.u) }
  return page === 'interchange' && second
    ? { ...row, reciprocal: written(second.mean), uReciprocal: uncertain(second.u) }
    : row
}

const isDay = (text: string) => /^\d{4}-\d{2}-\d{2}$/.test(text)
/** A check of a ratio bridge: ratios in, errors out, and into the instrument's entry. */
export function BridgeNow({ page, sessions }: { page: BridgePage; sessions: readonly SessionChoice[] }) {
  const rows = useChecks((state) => state[page])
  const theme = usePage((state) => state.theme)
  const [chosen, setChosen] = useState<string>()
  const { bridges, finder } = useBridges([chosen])
  const known = useResistors([])
  const [date, setDate] = useState(useToday())
  const [session, setSession] = useState<string>()
  const instrument = bridges.find(({ id }) => id === chosen) ?? bridges[0]
  const [typedDue, setDue] = useState<string>()
  const due = typedDue ?? (isDay(date) ? proposedDue(date, instrument?.checks ?? []) : '')
  const result = useMemo(
    () =>
      resultOfRows(page, rows, {
        ...(instrument && { instrument: instrument.id }),
        ...(isDay(date) && { date }),
        ...(isDay(due) && { due }),
        ...(session && { session }),
      }),
    [page, rows, instrument, date, due, session],
  )
  const setRows = (next: readonly Texts[]) => {
    checks.setState({ [page]: next })
    if (next.length === 0) setSession(undefined)
  }
  const outcome = useMemo(() => {
    if (!result.request || !instrument) return undefined
    try {
      const { entry, check } = withBridgeCheck(instrument, result.request, date)
      return { check, words: bridgeCheckWords(check, entry), missing: undefined }
    } catch (fault) {
      return {
        check: undefined,
        words: undefined,
        missing: fault instanceof Error ? fault.message : String(fault),
      }
    }
  }, [result.request, instrument, date])
  const from = ([first]: readonly TakenRatio[]) => {
    setSession(first?.session)
    const day = dayOfSession(sessions, first?.session)
    if (day !== undefined) setDate(day)
    if (first?.instrument !== undefined) setChosen(first.instrument)
  }
  const take = (taken: readonly TakenRatio[]) => {
    setRows(withTaken(rows, rowOf(page, taken)))
    from(taken)
  }
  const takeAll = (taken: readonly TakenRatio[]) => {
    const networks = taken.filter(({ name }) => readNetwork(name))
    if (networks.length === 0)
      throw new Error('No channel of this session is named as a combination, such as a, a + b or a || b.')
    setRows(networks.map((ratio) => rowOf(page, [ratio])))
    from(taken)
  }
  return (
    <>
      <Bridge
        page={page}
        bridges={bridges}
        instrument={instrument?.id ?? ''}
        date={date}
        rows={rows}
        problems={result.problems}
        onInstrument={setChosen}
        onDate={setDate}
        onRows={setRows}
        finder={finder}
        resistors={known.resistors}
        resistorFinder={known.finder}
        onKnown={(over, under) => {
          const ratio = knownRatio(over, under, date)
          if (ratio) setRows(withTaken(rows, ratio))
        }}
        onCombinations={(names) => setRows(rowsOfNetworks(names))}
        fromSession={
          <FromSessionNow
            sessions={sessions}
            wanted={WANTED[page]}
            guess={GUESS[page] ?? []}
            onTake={take}
            onTakeAll={page === 'networks' ? takeAll : undefined}
          />
        }
      />
      {result.missing && <p className="faint hint">{result.missing}</p>}
      {result.request && (
        <>
          <BridgeResult
            page={page}
            result={result}
            verdict={verdictOf(page, result)}
            check={outcome?.check}
            budget={outcome?.words}
            theme={theme}
          />
          <RecordNow
            act="Record the check"
            request={outcome?.check ? () => result.request! : undefined}
            missing={outcome?.missing ?? 'Choose the bridge that was checked. The register has none yet.'}
            follows={GUIDES[page].follows}
            onDone={() => setRows([])}
          >
            <Field label="Next check" about="Such as 2026-02-10." value={due} onChange={setDue} />
          </RecordNow>
        </>
      )}
      <WholeBridgeNow instrument={instrument} date={date} due={due} />
    </>
  )
}
