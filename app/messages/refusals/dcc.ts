/** Refusals of a certificate that is read in, by code. */
export const DCC_REFUSALS = {
  'certificate-file-too-large':
    'This file is larger than 30 MB and no certificate. Ask its issuer for another copy.',
  'certificate-file-hostile':
    '{what} A certificate has no use for that: do not trust the file, and ask its issuer for another.',
  'xml-not-well-formed': 'This file is no well-formed XML: {why}. Ask its issuer for another copy.',
  'xml-document-type':
    'This XML brings a document type, with which entities and other files can be drawn in.',
  'xml-style-sheet': 'This XML asks for a style sheet to be run.',
  'xml-too-many-elements': 'This XML has more than {most} elements.',
  'xml-too-deep': 'This XML is nested more than {most} deep.',
  'no-xml': 'This file holds no XML. Choose the certificate’s XML file.',
  'xml-no-dcc':
    'This XML is no Digital Calibration Certificate: its root is {root}. Choose the certificate’s XML file.',
  'dcc-states-nothing': 'The certificate states neither coefficients nor values at temperatures.',
  'dcc-value-off-smooth':
    'The value at {celsius} °C lies farther from a smooth deviation than its own uncertainty. Ask its issuer for coefficients.',
  'dcc-value-off-relation':
    'The value at {celsius} °C lies farther from the relation than its own uncertainty. Ask its issuer for coefficients.',
  'dcc-determines-nothing':
    'The certificate states no coefficients, and its points determine none: {why} Ask its issuer for coefficients, or enter them by hand.',
  'dcc-makes-no-conversion':
    'The certificate states no coefficients that make a conversion: R0, A, B; R(0.01 °C) with those of ITS-90; or A0, A1, A3. Enter what it states by hand.',
  'dcc-coefficients-wrong': 'The coefficients do not make a conversion: {why}.',
  'dcc-without-range': 'The certificate does not say over which temperatures it holds.',
  'dcc-without-resistance':
    'The certificate does not state one resistance with its uncertainty. Enter it by hand.',
} as const
