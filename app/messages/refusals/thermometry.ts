/** Refusals of thermometry, by code. */
export const THERMOMETRY_REFUSALS = {
  'no-such-fixed-point': 'There is no fixed point {name}; use one of {points}.',
  'depth-or-pressure-not-finite': 'Depth and pressure must be finite numbers.',
  'depth-or-pressure-negative': 'Depth in metres and pressure in pascal cannot be negative.',
  'no-such-subrange': 'There is no platinum subrange {section}; use one of {known}.',
  'no-subrange-of-coefficients':
    'No platinum subrange has the coefficients given ({given}); a certificate gives a, or a and b, or a, b and c, or a, b, c and d above 0 degC, and a and b, or a, b and c1, or a, b and c1 to c3, or a, b and c1 to c5 below.',
  'coefficients-missing': '{needs}; {missing} not given.',
  'coefficients-surplus': '{needs} and has no {surplus}.',
  'coefficient-not-finite-number': 'Coefficient {name} is not a finite number.',
  'sets-do-not-join':
    'Two joined sets must lie on either side of the water triple point: one of sections 3.3.1 to 3.3.1.3, one of sections 3.3.2 to 3.3.2.5. Name the subrange of each set.',
  'conversion-gives-no-temperature': 'A {kind} from {from} to {to} gives no temperature.',
  'resistance-needs-rwtp':
    'A resistance needs rWtp, the resistance at the triple point of water: give it, or give the ratio W.',
  'conversion-without-quantity': 'A conversion of kind {kind} has no {quantity}.',
  'not-a-date': '{date} is not a date; write it as 2026-03-31.',
  'calibrated-resistance-not-positive': 'The calibrated resistance must be greater than zero.',
  'temperature-resistor-not-finite': 'The temperature of the resistor is not a finite number.',
  'currents-resistances-finite-numbers': 'Currents and resistances must be finite numbers.',
  'measuring-current-greater-than': 'A measuring current must be greater than zero.',
  'two-different-currents-needed': 'Two different currents are needed to find the self-heating.',
  'slope-impossible': 'The slope dR/dt must be a finite number other than zero.',
  'repeated-at-another-current': 'The repeated reading must be at the first current.',
  'outside-tolerance-class':
    'Class {name} for {construction} elements holds from {low} degC to {high} degC; {t} degC lies outside.',
  'unit-of-neither-side':
    'Unit {unit} belongs neither to {from} nor to {to}; ratios are in 1, resistances in ohm, voltages in mV and temperatures in degC or K.',
  'conversion-without-ratio': 'A conversion of kind {kind} has no ratio.',
  'ratio-needs-rwtp': 'Ratio and resistance need rWtp, the resistance at the triple point of water.',
  'conversion-goes-elsewhere': 'This {kind} goes from {from} to {to}, not from {given} to {wanted}.',
  'from-and-to-alike': 'from and to are both {from}; name what is given and what is wanted.',
  'no-answer': 'This value has no answer by this conversion.',
} as const
