import type { Command } from 'commander'
import { answerLine } from '../../../app/thermometry/convert-request.ts'
import { jsonLinesCommand } from './json-lines.ts'

const HELP = `Each line is a request; one line is written for each, {"id", "value", "unit", "marks", ...} or {"id", "error"}.

  {"id":1,"from":"resistance","to":"temperature","value":25.6,"conversion":{"kind":"its90","rWtp":25.5,"coefficients":{"a":-1e-4,"b":-1e-5}}}
  {"id":2,"from":"temperature","to":"voltage","value":400,"unit":"K","conversion":{"kind":"thermocouple","type":"S","referenceJunction":23}}

Request
  from, to      ratio (1), resistance (ohm), voltage (mV), temperature (degC, or K with "unit":"K")
  value         a number, or its decimal text
  uncertainty   standard uncertainty of value, in its unit
  exact         true takes the decimal path: value is answered as text with thirty digits
  conversion    {"kind":"its90","rWtp","coefficients":{"a","b","c","d","c1".."c5"},"subrange"?,"wAluminium"?,
                 "uRWtp"?,"covariance"?,"joined"?:{"coefficients","subrange"?,...}}
                                 ratio is W; subrange is the section of ITS-90, "3.3.1.3" say; unless named, a
                                 alone is 3.3.2.4, and a with b is 3.3.2.2 from 0 degC up and 3.3.1.3 below it;
                                 joined is the set on the other side of the water triple point
                {"kind":"iec60751","r0"?,"a"?,"b"?,"c"?,"uR0"?}     ratio is R/r0; the standard's where left out
                {"kind":"callendar-van-dusen","r0","a","b","c"?,"uR0"?}
                {"kind":"steinhart-hart","coefficients":[...],"powers"?}    1/T in powers of ln R; three
                                 coefficients are of powers 0, 1, 3 unless powers are given, others of 0, 1, 2 ...
                {"kind":"beta","r0","beta","t0"?}                    t0 is 25 degC where left out
                {"kind":"thermocouple","type","referenceJunction"?,"uReferenceJunction"?,"deviation"?}
                                 junction in degC; deviation in mV, ascending powers of t in degC
                {"kind":"polynomial","coefficients":[...],"range"?,"from"?,"to"?}
                {"kind":"table","x":[...],"y":[...],"from"?,"to"?}   from a signal to temperature unless from and
                                 to say otherwise; the other direction is found as well
  In every kind but table, "range":[low,high] narrows the range (degC; for a polynomial the unit of x), and
  "covariance":{"names":[...],"matrix":[[...]]} carries that of the coefficients (of powers: "0", "1" ...).

Answer
  marks         outside-range where the value lies outside what the conversion declares, which message names;
                two-answers where more than one value fits, and message gives them
  uncertainty   standard, in the unit of the value, where anything that went in carries one`

export function convertCommand(): Command {
  return jsonLinesCommand({
    name: 'convert',
    description: 'convert ratios, resistances, voltages and temperatures',
    help: HELP,
    answer: answerLine,
  })
}
