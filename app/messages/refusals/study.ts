/** Refusals of what is done with old data, of keys and time stamps, by code. */
export const STUDY_REFUSALS = {
  'budget-file-wrong': '{folder}/{name}: {words}',
  'key-not-pkcs12':
    'This file is no key file in the form PKCS#12 (.p12, .pfx). Export key and certificate together in that form.',
  'key-not-opened':
    'The key file cannot be opened: its password is not right, or it is encrypted in an old way (RC2 or 3DES). Type the password again; an old file is written anew with: openssl pkcs12 -legacy -in OLD.p12 -nodes | openssl pkcs12 -export -out NEW.p12',
  'key-of-other-algorithm': 'The key file holds a key that is neither RSA nor ECDSA. Use one of these.',
  'key-file-without-key': 'The key file holds no private key. Export it with its key.',
  'key-without-certificate':
    'None of the certificates in the key file belongs to its key. Export the key together with its own certificate.',
  'key-out-of-date':
    'The certificate of {subject} holds from {from} to {to} and not on {day}. Sign with a key that is valid.',
  'stamp-unreadable':
    'What the stamping service sent is no time stamp of RFC 3161. Check its address in Settings.',
  'stamp-over-something-else':
    'The time stamp is over something else than what was sent. Ask the service again, or another one.',
  'stamp-from-future':
    'The time stamp says {time}, which is yet to come. Check this computer’s clock, else the service’s.',
  'stamping-service-silent':
    'The stamping service at {url} does not answer. The signature holds without a stamp; the stamp is asked for again later.',
  'no-stamping-service':
    'What answers at {url} is no stamping service of RFC 3161. Check its address in Settings.',
  'stamp-refused': 'The stamping service at {url} refused the request.',
  'laboratory-not-entered': 'A certificate names its laboratory. Enter it under Register, Station, first.',
  'thermometer-not-under-test': 'No thermometer {thermometer} was under test in this session.',
  'not-in-register': 'There is no {what} "{id}" in the register.',
  'bridge-not-named': 'Name the bridge that was checked: "instrument", its id in the register.',
  'thermometer-not-named':
    'Name the thermometer that was in the cells: "thermometer", its id in the register.',
  'worked-out-is-no-entry':
    'This is worked out, and not an entry of its own. Enter what it found with the certificate of the resistor.',
  'plateau-is-no-entry':
    'One plateau is no entry of its own. Put it with the others into a "fixed-points" request.',
  'correct-while-running':
    'The session is still running, or was left open. Its records can be corrected when it has ended.',
  'nothing-to-correct':
    'No record of this session has changed since. Correct the calibration in the Register first.',
  'plateau-channel-not-named': 'Name the channel whose plateau session {session} recorded.',
  'no-station-in-folder': '{folder} holds no station. Check the path given with --data.',
  'who-and-why-missing': 'Say who you are and why: --who NAME --why TEXT. The ledger keeps both.',
  'nobody-entered':
    'Nobody has been entered at this station yet. Enter the first person in the window, or with "stillpoint people add".',
  'password-not-given': 'A password is needed. Give it in {variable}; it cannot be asked for here.',
  'sign-in-wrong-not-changed': 'Name or password are not right. Nothing was changed.',
  'only-who-may': 'Only who may {right} does this. {person} may not.',
  'resistor-without-folder':
    'To name the resistor "{resistor}" by its id, give the station\'\'s folder with --data.',
} as const
