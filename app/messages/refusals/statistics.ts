/** Refusals of statistics and of the fits, by code. */
export const STATISTICS_REFUSALS = {
  'values-not-one-each': 'There are {found} {what} for {n} values of y; give one for each.',
  'nothing-to-fit': 'The model has no coefficients to fit.',
  'point-not-finite-number': 'Point {point} is not a finite number.',
  'column-not-finite-number': 'Column {names} is not a finite number at point {place}.',
  'weight-negative': 'The weight of point {i} is {weights}; a weight is 0 or more.',
  'too-few-points-for-coefficients':
    '{counted} cannot determine {count} coefficients ({names}); take more points or fit fewer coefficients.',
  'row-of-another-length': 'Row {i} has {found} entries where row 1 has {p}.',
  'probability-out-of-range': 'A probability lies between 0 and 1, not {q}.',
  'correlation-of-no-input': 'A correlation names {unknown}, which is no input.',
  'correlation-out-of-range': 'The correlation of {a} and {b} must lie between -1 and 1, not {r}.',
  'correlation-with-itself': '{a} cannot have a correlation of {r} with itself.',
  'correlation-given-twice': 'The correlation of {a} and {b} is given twice.',
  'observations-not-paired': 'There are {x} and {y} observations; give pairs.',
  'correlation-of-one-pair': 'A correlation needs at least two pairs.',
  'correlations-contradict':
    'The correlations contradict one another: no quantities can have all of them at once (found at {names}). Check their signs and sizes.',
  'degrees-of-freedom-not-positive': 'Degrees of freedom must be above 0, not {dof}.',
  'coverage-out-of-range':
    'A coverage probability lies between 0 and 1 (0.95 say, or 95 in per cent), not {coverage}.',
  'curvilinear-trapezoid-correlated':
    'A curvilinear trapezoidal input cannot be correlated; take rectangular in its place.',
  'input-parameter-impossible': 'Input {name}: {parameter} cannot be {value}.',
  'input-limits-too-uncertain': 'Input {name}: its limits cannot be less certain than they are wide.',
  'model-not-finite-at-estimates': 'The model has no finite value at the estimates ({value}).',
  'input-named-twice': 'There are two inputs named {name}.',
  'input-not-finite': 'Input {name}: its value is not a finite number.',
  'input-degrees-of-freedom-not-positive':
    'Input {name}: degrees of freedom must be above 0, not {degreesOfFreedom}.',
  'model-without-derivative': 'The model has no derivative with respect to {name} here.',
  'resistance-of-point-not-positive': 'The resistance of point {i} must be above 0 ohm.',
  'r0-impossible': 'R(0 degC) comes out as {r0} ohm; check the points.',
  'rwtp-unknown-to-fit':
    'R(WTP) is not known: give it (rWtp, ohm), or a point at the triple point of water, 0.01 degC.',
  'only-the-water-point':
    'There is no point besides the triple point of water; a deviation function needs at least one.',
  'no-subrange-holds':
    'No platinum subrange of ITS-90 holds {low} to {high} degC; the scale runs from -259.3467 to 961.78 degC.',
  'degree-impossible': 'The degree must be a whole number from {lowest} up, not {degree}.',
  'values-not-paired': 'There are {x} values of x and {y} of y.',
  'places-do-not-determine':
    'The points do not determine the coefficients: they lie at {places} {kind}, and {p} coefficients need {p}. Take points at more places or lower the degree.',
  'point-below-absolute-zero': 'Point {cold} lies at or below absolute zero.',
  'outside-reference-function':
    '{outside} degC lies outside the reference function of type {type}, {lowC} degC to {highC} degC.',
  'autocorrelation-of-one': 'An autocorrelation needs at least two values.',
  'interval-not-positive': 'The interval must be a time above 0 s, not {intervalS}.',
  'times-not-one-each': 'There are {times} times and {values} values; give one time for each value.',
  'time-not-finite-number': 'Time {i} is not a finite number.',
  'time-runs-back': 'Time {i} lies before the one preceding it.',
  'marks-not-one-each': 'There are {marks} marks for {values} values; give one mark for each value.',
  'values-too-large': 'The values are too large to be summed; state them in a larger unit.',
  'row-where-one-value':
    'x is a row of {values} values at point {i}; a model of kind {kind} takes one value (use linear).',
  'list-not-one-each': 'There are {found} of {what} for {n}.',
  'weights-and-uncertainties': 'Give weights or the uncertainties uY, not both.',
  'uy-not-positive': 'uY of point {bad} must be above 0.',
  'place-outside': 'Place {k} lies outside {from} to {to}.',
  'median-of-nothing': 'A median needs at least one value.',
  'spike-limit-not-positive': 'The spike limit must be above 0.',
  'too-few-trials': '{count} trials are too few for a coverage probability of {coverage}; take more.',
  'seed-impossible': 'The seed must be a whole number, not {seed}.',
  'trials-out-of-range': 'The number of trials must be a whole number from 2 to {most}, not {trials}.',
  'digits-out-of-range': 'digits must be 1 to 6, not {digits}.',
  'adaptive-run-too-small': 'An adaptive run needs room for {length} to {most} trials, not {limit}.',
  'model-not-finite-in-trials':
    'The model has no finite value in {wrong} of {values} trials; its inputs reach where it is not defined.',
  'marks-of-another-number': 'There are {marks} marks for {n} values.',
  'average-impossible': 'A number of values to average is 1, 2, 3 ..., not {m}.',
  'value-not-finite-number': 'Value {i} is not a finite number; mark it.',
  'model-too-long': 'The model has {characters} characters; at most {longest} are read.',
  'model-cannot-read': 'The model cannot be read: {why}.',
  'model-not-allowed':
    'The model holds something that is not allowed ({type}); use numbers, inputs, + - * / ^, brackets and the functions {functions}.',
  'model-nested-too-deeply': 'The model is nested too deeply.',
  'function-without-brackets': 'The function {name} needs its argument in brackets: {name}(...).',
  'model-of-unknown-input': 'The model names {name}, which is no input; the inputs are {known}.',
  'quotient-ambiguous':
    'A quotient followed by factors side by side can be read in two ways (a/b c); write a * or brackets.',
  'model-of-unknown-function':
    'The model calls {name} with {count} argument{plural}, which is no function here; the functions are {functions}.',
  'input-wrong': 'Input {name}: {words}.',
  'correlation-without-value': 'The correlation of {a} and {b} needs its r, or observations of both of them.',
  'column-of-others':
    'The points do not determine the coefficients: column {column} is a combination of {others}. Leave one of them out, or take points at which they differ.',
  'column-of-zeros':
    'The points do not determine the coefficients: column {column} is zero at every point. Leave it out.',
  'window-empty': 'The window holds no values.',
  'window-all-marked': 'Every value of the window is marked or not finite.',
} as const
