import { useDeferredValue, useMemo, useState } from 'react'
import { bridgeCheckWords, withBridgeCheck } from '../../../app/checks/check-record.ts'
import type { InstrumentRecord } from '../../../app/records/register.ts'
import { usePage } from '../../page/page.ts'
import { checks, useChecks } from './checks.store.ts'
import { GUIDES } from './guides.ts'
import { RecordNow } from './Record.connect.tsx'
import { WholeBridge } from './WholeBridge.tsx'
import { wholeBridge } from './whole-bridge.model.ts'

interface Props {
  instrument: InstrumentRecord | undefined
  date: string
  due: string
}

const isDay = (text: string) => /^\d{4}-\d{2}-\d{2}$/.test(text)

/** What all tables say of the bridge together, where there is more than one; and the way into its entry. */
export function WholeBridgeNow({ instrument, date, due }: Props) {
  // The picture follows the typing when there is time for it.
  const { interchange, networks, ratios } = useDeferredValue(useChecks((state) => state))
  const theme = usePage((state) => state.theme)
  const [asCorrection, setCorrection] = useState(false)
  const whole = useMemo(
    () =>
      wholeBridge(
        { interchange, networks, ratios },
        {
          ...(instrument && { instrument: instrument.id }),
          ...(isDay(date) && { date }),
          ...(isDay(due) && { due }),
          asCorrection,
        },
      ),
    [interchange, networks, ratios, instrument, date, due, asCorrection],
  )
  const recorded = useMemo(() => {
    if (!whole || typeof whole === 'string' || !instrument) return undefined
    try {
      const { entry, check } = withBridgeCheck(instrument, whole.request, date)
      return { words: bridgeCheckWords(check, entry), missing: undefined }
    } catch (fault) {
      return { words: undefined, missing: fault instanceof Error ? fault.message : String(fault) }
    }
  }, [whole, instrument, date])
  if (whole === undefined) return null
  if (typeof whole === 'string') return <p className="faint hint">{whole}</p>
  return (
    <>
      <WholeBridge
        whole={whole}
        budget={recorded?.words}
        theme={theme}
        asCorrection={asCorrection}
        onCorrection={setCorrection}
      />
      <RecordNow
        act="Record all checks as one"
        request={recorded && recorded.missing === undefined ? () => whole.request : undefined}
        missing={recorded?.missing ?? 'Choose the bridge that was checked. The register has none yet.'}
        follows={GUIDES.interchange.follows}
        onDone={() => checks.setState({ interchange: [], networks: [], ratios: [] })}
      />
    </>
  )
}
