// Passkeys: the browser makes or uses one, and the form carries what it says to the server (W3C Web Authentication).

const bytes = (text) => Uint8Array.from(atob(text.replace(/-/g, "+").replace(/_/g, "/")), (sign) => sign.charCodeAt(0));
const text = (buffer) =>
  btoa(String.fromCharCode(...new Uint8Array(buffer))).replace(/\+/g, "-").replace(/\//g, "_").replace(/=+$/, "");

function readOptions({ publicKey }) {
  const known = (list) => list?.map((each) => ({ ...each, id: bytes(each.id) }));
  const options = { ...publicKey, challenge: bytes(publicKey.challenge) };
  if (options.user) options.user = { ...options.user, id: bytes(options.user.id) };
  if (options.excludeCredentials) options.excludeCredentials = known(options.excludeCredentials);
  if (options.allowCredentials) options.allowCredentials = known(options.allowCredentials);
  return options;
}

function written(credential) {
  const { response } = credential;
  const said = {};
  for (const part of ["clientDataJSON", "attestationObject", "authenticatorData", "signature", "userHandle"])
    if (response[part]) said[part] = text(response[part]);
  if (response.getTransports) said.transports = response.getTransports();
  return {
    type: credential.type,
    id: credential.id,
    rawId: text(credential.rawId),
    authenticatorAttachment: credential.authenticatorAttachment,
    clientExtensionResults: credential.getClientExtensionResults(),
    response: said,
  };
}

const onPage = (key) => JSON.parse(document.getElementById("passkey-options").textContent)[key];

async function make() {
  const publicKey = readOptions(onPage("creation_options"));
  // One to sign in with: kept by the device, and opened by its lock.
  Object.assign(publicKey.authenticatorSelection, {
    residentKey: "required",
    requireResidentKey: true,
    userVerification: "required",
  });
  return navigator.credentials.create({ publicKey });
}

const use = async () => navigator.credentials.get({ publicKey: readOptions(onPage("request_options")) });

async function signIn(form) {
  const answer = await fetch(form.action, { headers: { Accept: "application/json" } });
  if (!answer.ok) throw new Error("no options");
  const { request_options: options } = await answer.json();
  return navigator.credentials.get({ publicKey: readOptions(options) });
}

const ways = { make, use, "sign-in": signIn };

function sentence(error) {
  if (error.name === "InvalidStateError") return "This device has a passkey for this account already.";
  if (error.name === "NotAllowedError")
    return "Nothing was done: the browser’s question was closed, took too long, or there is no passkey for this account.";
  return "That did not work. Try once more, or use another way.";
}

for (const form of document.querySelectorAll("form[data-passkey]")) {
  const fault = form.querySelector(".fault[hidden]");
  const say = (words) => {
    fault.textContent = words;
    fault.hidden = !words;
  };
  if (!window.PublicKeyCredential) {
    say("This browser has no passkeys here. They need HTTPS, or this machine’s own name localhost.");
    continue;
  }
  form.hidden = false;
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    say("");
    try {
      form.elements.credential.value = JSON.stringify(written(await ways[form.dataset.passkey](form)));
    } catch (error) {
      say(sentence(error));
      return;
    }
    form.submit();
  });
  // Pressed before this module was read it would send the form without what the browser says.
  for (const button of form.querySelectorAll("button[disabled]")) button.disabled = false;
}
