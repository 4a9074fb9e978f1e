import type { ReactNode } from 'react'
import { at, last, needed } from '../../app/base/lists.ts'
import { CONVERSION_FORMS } from '../desk/record-fields.ts'
import { Button } from '../parts/Button.tsx'
import { type FieldSpec, textsOf } from '../parts/forms.ts'
import { fixed, printed, significant } from '../text/numbers.ts'
import { History } from './History.tsx'
import {
  coefficientLines,
  type Entry,
  RESISTOR_CALIBRATION_FIELDS,
  SHELF_FIELDS,
  type Shelf,
} from './register.model.ts'

interface Props {
  shelf: Shelf
  entry: Entry
  chart: ReactNode
  locked: boolean
  /** Takes it out of use, or brings it back. */
  retire?: ReactNode
  onEdit: () => void
  onLedger: () => void
  /** The certificate of a calibration at fixed points, or of a comparison. */
  certificate?: (kind: 'fixed-points' | 'resistor', entry: string) => ReactNode
}

const LINE_NAMES: Readonly<Record<string, string>> = {
  rWtp: 'R(WTP) / Ω',
  uRWtp: 'Standard uncertainty of R(WTP) / Ω',
  wAluminium: 'W at aluminium',
  subrange: 'Subrange, section of ITS-90',
  r0: 'R0 / Ω',
}
/** How a certificate would call a line of the coefficients. */
const lineName = (name: string): string => {
  const joined = /^joined (.*)$/.exec(name)
  return joined ? `Second subrange: ${lineName(at(joined, 1))}` : (LINE_NAMES[name] ?? name)
}

/** A temperature with the digits it needs: 419.5274, 0.01, 200. */
const celsius = (value: number): string =>
  fixed(value, 4)
    .replace(/([.,]\d*?)0+$/, '$1')
    .replace(/[.,]$/, '')

const isNumber = (text: string): boolean => /^[+-]?\d+(\.\d+)?(e[+-]?\d+)?$/i.test(text)

/** What a record says in a field, as it is printed: its choice by name, a number with its unit. */
function factWords({ choices, type, unit }: FieldSpec, text: string): string {
  const words =
    choices?.find(({ id }) => id === text)?.name ?? (type !== 'text' && isNumber(text) ? printed(text) : text)
  return unit ? `${words} ${unit}` : words
}

/** A coefficient with every digit of its certificate; an uncertainty with those that say something. */
const coefficientWords = ({ name, value }: { name: string; value: string }): string =>
  isNumber(value) ? (name === 'uRWtp' ? significant(Number(value), 3) : printed(value)) : value

/** A record as it stands. */
export function EntryView({ shelf, entry, chart, locked, retire, onEdit, onLedger, certificate }: Props) {
  const specs = SHELF_FIELDS[shelf]
  const texts = textsOf(entry, specs)
  return (
    <article className="stack" aria-label={entry.name}>
      <div className="row row-apart">
        <h2 className="place-title">{entry.name}</h2>
        <div className="row">
          <Button look="quiet" onPress={onLedger}>
            Its changes
          </Button>
          {!locked && retire}
          {!locked && <Button onPress={onEdit}>Edit</Button>}
        </div>
      </div>
      <dl className="facts">
        {specs
          .filter(({ key }) => key !== 'name' && texts[key])
          .map((spec) => (
            <div key={spec.key} className="fact">
              <dt>{spec.label}</dt>
              <dd>{factWords(spec, needed(texts[spec.key], spec.key))}</dd>
            </div>
          ))}
      </dl>
      {'calibrations' in entry && (
        <section className="stack">
          <h3>Calibrations</h3>
          {entry.calibrations.length === 0 && (
            <p className="faint">
              None yet. Until one is entered, only raw values and resistances can be shown.
            </p>
          )}
          {[...entry.calibrations].reverse().map((calibration, i) => (
            <details key={calibration.id} open={i === 0} className="calibration">
              <summary>{`${calibration.date}, ${calibration.certificate || 'no certificate number'}${calibration.due ? `, due ${calibration.due}` : ''}`}</summary>
              {'fixedPoints' in calibration &&
                calibration.fixedPoints &&
                certificate?.('fixed-points', calibration.id)}
              <dl className="facts">
                {calibration.laboratory !== '' && (
                  <div className="fact">
                    <dt>Laboratory</dt>
                    <dd>{calibration.laboratory}</dd>
                  </div>
                )}
                {'conversion' in calibration ? (
                  <>
                    <div className="fact">
                      <dt>Relation</dt>
                      <dd>{`${CONVERSION_FORMS[calibration.conversion.kind]?.name}, ${celsius(calibration.lowC)} to ${celsius(calibration.highC)} °C`}</dd>
                    </div>
                    <div className="fact">
                      <dt>Holds</dt>
                      <dd>
                        {calibration.atZeroCurrent === undefined
                          ? 'at the current that is usual for its kind'
                          : calibration.atZeroCurrent
                            ? 'at zero current'
                            : 'at the measuring current'}
                      </dd>
                    </div>
                    {coefficientLines(calibration.conversion)
                      .filter(({ name }) => !/^range \d$/.test(name))
                      .map((line) => (
                        <div className="fact" key={line.name}>
                          <dt>{lineName(line.name)}</dt>
                          <dd>{coefficientWords(line)}</dd>
                        </div>
                      ))}
                    {calibration.uncertainty && (
                      <div className="fact">
                        <dt>{`Expanded uncertainty, k = ${calibration.uncertainty.k}`}</dt>
                        <dd>
                          {calibration.uncertainty.points
                            .map((p) => `${significant(p.expandedMk, 3)} mK at ${celsius(p.celsius)} °C`)
                            .join(', ')}
                        </dd>
                      </div>
                    )}
                    {calibration.note && (
                      <div className="fact">
                        <dt>Note</dt>
                        <dd>{calibration.note}</dd>
                      </div>
                    )}
                  </>
                ) : (
                  RESISTOR_CALIBRATION_FIELDS.filter(
                    ({ key }) => !['date', 'due', 'certificate', 'laboratory'].includes(key),
                  ).map((spec) => (
                    <div className="fact" key={spec.key}>
                      <dt>{spec.label}</dt>
                      <dd>{factWords(spec, textsOf(calibration, [spec])[spec.key] ?? '')}</dd>
                    </div>
                  ))
                )}
              </dl>
            </details>
          ))}
        </section>
      )}
      <History entry={entry} />
      {'nominalOhm' in entry &&
        'comparisons' in entry &&
        entry.comparisons &&
        certificate?.('resistor', last(entry.comparisons).id)}
      {chart}
    </article>
  )
}
