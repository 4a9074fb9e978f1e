import { useMemo } from 'react'
import { counted } from '../../../app/base/plural.ts'
import { Table } from '../../parts/Table.tsx'
import { fixed } from '../../text/numbers.ts'
import { checks, useChecks } from './checks.store.ts'
import { RatioTable } from './RatioTable.tsx'
import { SET_KNOWN, SET_RATIOS, setOfResistors } from './resistor-set.model.ts'
import { parts } from './written.ts'

/** Several resistors compared with one another at once, by least squares. */
export function ResistorSetNow() {
  const ratios = useChecks((state) => state.setRatios)
  const known = useChecks((state) => state.setKnown)
  const { result, missing, ratioProblems, knownProblems } = useMemo(
    () => setOfResistors(ratios, known),
    [ratios, known],
  )
  return (
    <section className="sheet" aria-label="Several resistors at once">
      <h3>Several resistors at once</h3>
      <p>
        Ratios of pairs, as the bridge showed them, and the value of one or more that is known from elsewhere.
      </p>
      <RatioTable
        label="Ratios of the set, one row each"
        columns={SET_RATIOS}
        rows={ratios}
        problems={ratioProblems}
        onRows={(setRatios) => checks.setState({ setRatios })}
      />
      <RatioTable
        label="Known values of the set, one row each"
        columns={SET_KNOWN}
        rows={known}
        problems={knownProblems}
        onRows={(setKnown) => checks.setState({ setKnown })}
      />
      {missing && <p className="faint hint">{missing}</p>}
      {result && (
        <>
          <Table
            label="Resistors of the set"
            rows={[...result.resistors]}
            columns={[
              { id: 'name', name: 'Resistor', heads: true, value: ({ name }) => name },
              {
                id: 'ohm',
                name: 'Value',
                unit: 'Ω',
                value: ({ ohm }) => ohm,
                show: ({ ohm }) => fixed(ohm, 7),
              },
              {
                id: 'u',
                name: 'U (k = 2), relative',
                value: ({ uRelative }) => 2 * uRelative,
                show: ({ uRelative }) => parts(2 * uRelative),
              },
            ]}
            rowKey={({ name }) => name}
          />
          <p role="status">
            {result.degreesOfFreedom === 0
              ? 'Nothing is left to judge by: as many ratios and values as resistors.'
              : `Chi-squared ${fixed(result.chiSquared, 2)} with ${counted(result.degreesOfFreedom, 'degree')} of freedom: ${result.agrees ? 'they agree' : 'they do not agree; U comes from their scatter. Look for the ratio that is off'}.`}
          </p>
        </>
      )}
    </section>
  )
}
