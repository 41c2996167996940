"""The words by which a secret is known, and those by which it is not: tables for `secrets`.

Common practice, no source: gathered from what technicians write on sheets and into notes, in the
languages of the shops. All in small letters without accents; in a phrase a space stands for any
short gap ("access code", "access_code", "access-code").
"""

from __future__ import annotations


def _phrases(table: str) -> tuple[str, ...]:
    return tuple(" ".join(phrase.split()) for phrase in table.replace("\n", "|").split("|") if phrase.strip())


def _set(table: str) -> frozenset[str]:
    return frozenset(table.split())


# What follows one of these is a secret, if it has the shape of one.
SECRET_WORDS = _phrases("""
password | pass word | passwd | pwd | pword | pw | passphrase | pass phrase | passcode | pass code | passkey
access code | access pin | access key | access token | service code | unlock code | unlock key | unlocking code
option code | options code | option key | options key | entry code | door code | gate code | security code
activation code | activation key | release code | login code | log in code | logon code | master code
maintenance code | supervisor code | manager code | operator code | admin code | administrator code | keypad code
lock code | padlock code | safe code | cabinet code | locker code | registration code | registration key
authorisation code | authorization code | licence key | license key | licence code | license code | product key
software key | serial key | enable code | secret code | engineer code | technician code | installer code
dealer code | api key | apikey | api token | api secret | auth token | bearer token | token | secret key | secret
client secret | private key | encryption key | decryption key | wifi key | wi fi key | wifi code | wi fi code
wlan key | network key | wpa key | wpa2 key | wpa | psk | puk | otp | credentials
passwort | passworter | kennwort | kennworte | geheimzahl | geheimnummer | losungswort | zugangscode
zugriffscode | zugangsschlussel | freischaltcode | freischaltschlussel | servicecode | lizenzschlussel
lizenzcode | wlan schlussel | netzwerkschlussel | zugangsdaten
mot de passe | mots de passe | mdp | code d'acces | code d acces | code secret | code d'activation
code de deverrouillage | cle d'activation | cle de licence | cle wifi | cle wi fi | cle api
contrasena | clave | clave de acceso | clave wifi | codigo de acceso | codigo secreto | codigo de desbloqueo
codigo de servicio | parola | parola d'ordine | parola chiave | codice di accesso | codice d'accesso
codice segreto | codice di sblocco | chiave di licenza | senha | palavra passe | codigo de acesso
wachtwoord | toegangscode | ontgrendelcode | licentiesleutel | losenord | passord | adgangskode | adgangskoden
adgangsord | salasana | haslo | heslo | jelszo | sifre | lozinka | geslo
""")

# In some languages the words grow together: Servicepasswort, adminpassword.
GROWN = _phrases("passwort | password | passord | kennwort | wachtwoord | losenord")

# The same in other scripts, found inside a run of letters too: not all of them part words by spaces.
SCRIPTS = _phrases("""
пароль | код доступа | κωδικος | κωδικο | 密码 | 密碼 | 口令 | パスワード | 暗証番号 | 비밀번호 | 암호
كلمة المرور | كلمة السر | पासवर्ड | סיסמה
""")

# A name for a person's way in, often followed by "name / password".
LOGIN = _phrases("""
login | log in | logon | user | username | user name | usr | benutzer | anmeldung | utilisateur | usuario
utente | gebruiker
""")

# What is opened by a row of numbers, in context only: "combination saw" and "code 1204" are honest.
OPENERS = _phrases("""
combination | combinations | combo | code | codes | kombination | zahlenkombination | combinaison | combinacion
combinazione | combinatie
""")

# Before "pin": a piece of metal.
MECHANICAL = _set("""
drive driving driver dowel locating location locator clamp clamping shear guide guiding index indexing ejector
cotter taper tapered hinge stop lock locking spring roll split pivot clevis knock positioning safety release
detent carrier catch crank piston centre center centring straight steel pull push retaining hitch linch grooved
gudgeon parallel swivel connector contact plug test probe bed alignment fixing support press tool head torque
anti drum
""")

# Between "pin" and its value: whose PIN it is.
PIN_CONTEXT = _set("""
service level login access screen user sim operator admin door alarm lock keypad maintenance manager supervisor
control code codes number nummer nr no unlock technician master card phone tablet machine panel
for of the to is and
""")

# Before "code": a code that opens nothing.
HARMLESS_CODES = _set("""
g m t s f h d iso nc cnc error fault alarm tool status bar qr colour color zip post postal part product article
item message warning diagnostic diagnosis exit return country date source program programme machine stop fehler
erreur trouble drive event type material stone reason order batch lot model spare cost customer project job cut
""")

# After "combination", "code" or "user": the trade's own words.
HONEST_NEXT = _set("""
saw saws blade head machine tool tools manual manuals guide interface name names group page level frame zero
origin offset offsets parameter parameters macro macros variable reader readers id number coordinate coordinates
wrench
""")

# Beside "combination" or "code": what they open.
CONTEXT = _set("""
safe cabinet lock door gate padlock locker cupboard strongbox box service access level login unlock menu keypad
tresor schrank tur schloss vorhangeschloss porte coffre puerta kluis caja cassaforte porta deur
""")

# Somebody says where a secret is, or how it is with it: what follows names none.
KEPT = _set("""
kept keeps keep held holds hold stored stores store known knows know unknown lost forgotten ask asks asked see
sealed with by has have owner office envelope required requires needed needs necessary protected protection
prompt changed changes change expires expired given handed noted written locked removed cleared blank disabled
enabled active inactive dialog dialogue window manager whoever whom who nobody someone belongs via through from
per contact length policy rules minimum characters reset resets missing invalid wrong refused accepted correct
correctly entered entry group hint query check lies sits hangs
liegt bei beim hat kennt unbekannt verloren notig erforderlich geandert hinterlegt steht chef buro fragen
chez garde connu inconnu perdu demander requis necessaire bureau patron
guardada guardado tiene sabe conocida desconocida perdida pedir oficina jefe
presso custodita conosciuta chiedere ufficio ligt bij kantoor vragen bekend onbekend
""")

# Small words: never a secret themselves, and they say nothing about one.
FILLERS = _set("""
the a an of for to at on in into and or is are was it its this that as same all any each both your our my his
her their not no machine control screen menu level number nr
der die das den dem des im fur zum zur vom von und le la les l du de d en au aux dans pour et sur
el los del con para y il lo gli nel nella e op het een van voor
""")

# Values that say there is no secret here.
NOTHING = _set("""
none nothing null true false yes no not unset unknown empty na n/a tbd todo later set hidden masked redacted
removed required needed off on keine keiner aucun ninguna nessuna geen
""")

# Between a label and its value, where no sign stands.
LEADS = _set("is ist est es lautet : = -> => → | #")

# Before digits: not a secret but where to look, or whom to ring.
PLACES = _set("""
page pages p safe drawer room cabinet box folder shelf machine phone tel telephone ext extension call mobile
no nr number rack bin building floor hall seite raum schrank telefon chapter section manual since year in until
version release rev revision seit jahr step field screen parameter level group
""")

UNITS = _set("""
mm cm m in inch inches ft deg degree degrees grad ° ' " rpm 1/min min minutes h hours hour s sec ms kg g n nm kn
bar psi mpa v volt volts a amp amps hz khz w kw l litre litres % counts pulses increments teeth pcs pieces times
years days stunden tage jahre characters digits letters zeichen stellen mm/min mm/s mm/s² m/min m/s
""")

# Keys under which something is said about a value, never the value itself.
ABOUT = _set("""
type unit state agreement choices path order occurrence aliases within multiplier read_only pictured keyed kind
at by on how source hash
""")
# Keys that stand for the value of what is named above them.
VALUE_KEYS = _set("value values text reading was found left default")
