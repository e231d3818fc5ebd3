// What the worker does for each route, one function for each. They block; who asks has the right
// already. Every failure is an answer.
#pragma once

#include "logger/web/handler/routes.hpp"

namespace logger::web {

Response metrics(Services& services, const Call& call);
Response series(Services& services, const Call& call);
Response chart(Services& services, const Call& call);
Response notes(Services& services, const Call& call);
Response photo(Services& services, const Call& call);
Response certificates(Services& services, const Call& call);
Response certificate_file(Services& services, const Call& call);
Response audit(Services& services, const Call& call);
Response questions(Services& services, const Call& call);

Response acknowledge(Services& services, const Call& call);
Response add_note(Services& services, const Call& call);
Response keep_photo(Services& services, const Call& call);

Response log_in(Services& services, const Call& call);
Response open_share_link(Services& services, const Call& call);
Response links(Services& services, const Call& call);
Response make_link(Services& services, const Call& call);
Response withdraw_link(Services& services, const Call& call);

// Into the evidence log, by whoever asks. What was done stands whether or not this can be written:
// the site says so itself when its store fails.
void put_on_record(Services& services, const Call& call, std::string action, std::string detail);

}  // namespace logger::web
