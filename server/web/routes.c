/* routes.c - the table of routes. Add a page here: one row; its handler is
 * declared in a header of web/pages. Kept in order of address.
 */
#include "web/draft_form.h"
#include "web/page_static.h"
#include "web/pages/account.h"
#include "web/pages/admin.h"
#include "web/pages/api.h"
#include "web/pages/board.h"
#include "web/pages/public.h"
#include "web/pages/sign_in.h"
#include "web/route.h"

const struct route routes[] = {
        {HTTP_GET, "/", CALL_ANYONE, page_start, NULL, 0},
        {HTTP_GET, "/about", CALL_ANYONE, page_about, NULL, 0},
        {HTTP_GET, "/account", CALL_MEMBER, page_account, NULL, 0},
        {HTTP_POST, "/account", CALL_MEMBER, act_account, account_inputs, R_WRITES},
        {HTTP_GET, "/account/data", CALL_MEMBER, page_account_data, NULL, 0},
        {HTTP_GET, "/account/password", CALL_MEMBER, page_password, NULL, 0},
        {HTTP_POST, "/account/password", CALL_MEMBER, act_password, password_inputs,
         R_WRITES | R_GUARDED},
        {HTTP_GET, "/account/remove", CALL_MEMBER, page_account_remove, NULL, 0},
        {HTTP_POST, "/account/remove", CALL_MEMBER, act_account_remove, remove_inputs,
         R_WRITES | R_GUARDED},
        {HTTP_GET, "/account/sessions", CALL_MEMBER, page_sessions, NULL, 0},
        {HTTP_POST, "/account/sessions/end-others", CALL_MEMBER, act_sessions_end, NULL, R_WRITES},
        {HTTP_POST, "/account/sessions/{session}/end", CALL_MEMBER, act_session_end, NULL,
         R_WRITES},
        {HTTP_GET, "/account/tokens", CALL_MEMBER, page_tokens, NULL, R_SECRET},
        {HTTP_POST, "/account/tokens", CALL_MEMBER, act_token_make, token_inputs, R_WRITES},
        {HTTP_POST, "/account/tokens/{id}/end", CALL_MEMBER, act_token_revoke, NULL, R_WRITES},
        {HTTP_GET, "/admin", CALL_ADMIN, page_admin, NULL, 0},
        {HTTP_GET, "/admin/invites", CALL_ADMIN, page_invites, admin_list_query, 0},
        {HTTP_POST, "/admin/invites", CALL_ADMIN, act_invite_make, invite_inputs, R_WRITES},
        {HTTP_POST, "/admin/invites/{id}/take-back", CALL_ADMIN, act_invite_revoke, NULL, R_WRITES},
        {HTTP_GET, "/admin/log", CALL_ADMIN, page_log, admin_list_query, 0},
        {HTTP_GET, "/admin/members", CALL_ADMIN, page_members, admin_list_query, 0},
        {HTTP_GET, "/admin/members/{id}", CALL_ADMIN, page_member, NULL, 0},
        {HTTP_POST, "/admin/members/{id}/disable", CALL_ADMIN, act_member_disable, NULL, R_WRITES},
        {HTTP_POST, "/admin/members/{id}/enable", CALL_ADMIN, act_member_enable, NULL, R_WRITES},
        {HTTP_POST, "/admin/members/{id}/reset", CALL_ADMIN, act_member_reset, NULL, R_WRITES},
        {HTTP_POST, "/admin/members/{id}/role", CALL_ADMIN, act_member_role, role_inputs, R_WRITES},
        {HTTP_GET, "/admin/settings", CALL_ADMIN, page_settings, NULL, 0},
        {HTTP_POST, "/admin/settings", CALL_ADMIN, act_settings, setting_inputs, R_WRITES},
        {HTTP_POST, "/admin/verify", CALL_ADMIN, act_verify, NULL, 0},
        {HTTP_GET, "/api/v1/check", CALL_ANYONE, api_check, api_check_inputs, 0},
        {HTTP_GET, "/api/v1/kits/{kit}/records", CALL_TOKEN_OWNER, api_kit_records, NULL, 0},
        {HTTP_GET, "/api/v1/kits/{kit}/standings", CALL_TOKEN_OWNER, api_kit_standings,
         api_standings_inputs, 0},
        {HTTP_GET, "/api/v1/notices", CALL_ANYONE, api_notices, api_notices_inputs, 0},
        {HTTP_GET, "/api/v1/notices/{notice}", CALL_ANYONE, api_notice, NULL, 0},
        {HTTP_GET, "/api/v1/openapi.json", CALL_ANYONE, api_description, NULL, 0},
        {HTTP_GET, "/board", CALL_STEWARD, page_board, board_query, 0},
        {HTTP_GET, "/board/drafts/{revision}", CALL_STEWARD, page_draft, NULL, 0},
        {HTTP_POST, "/board/drafts/{revision}", CALL_STEWARD, act_draft_save, draft_inputs,
         R_WRITES},
        {HTTP_GET, "/board/new", CALL_STEWARD, page_draft_new, NULL, 0},
        {HTTP_POST, "/board/new", CALL_STEWARD, act_draft_new, draft_inputs, R_WRITES},
        {HTTP_GET, "/board/notices/{notice}", CALL_STEWARD, page_board_notice, board_log_query, 0},
        {HTTP_GET, "/board/notices/{notice}/cancel", CALL_STEWARD, page_cancel, NULL, 0},
        {HTTP_POST, "/board/notices/{notice}/cancel", CALL_STEWARD, act_cancel, cancel_inputs,
         R_WRITES},
        {HTTP_POST, "/board/notices/{notice}/revise", CALL_STEWARD, act_revise, NULL, R_WRITES},
        {HTTP_POST, "/board/read-back", CALL_STEWARD, act_read_back, read_back_inputs, 0},
        {HTTP_GET, "/health", CALL_ANYONE, page_health, NULL, 0},
        {HTTP_GET, "/join/{token:text}", CALL_GUEST, page_join, NULL, R_SECRET},
        {HTTP_POST, "/join/{token:text}", CALL_GUEST, act_join, join_inputs, R_WRITES | R_GUARDED},
        {HTTP_GET, "/new-password/{token:text}", CALL_GUEST, page_reset, NULL, R_SECRET},
        {HTTP_POST, "/new-password/{token:text}", CALL_GUEST, act_reset, reset_inputs,
         R_WRITES | R_GUARDED},
        {HTTP_GET, "/notices", CALL_ANYONE, page_notices, notices_inputs, 0},
        {HTTP_GET, "/notices/{notice}", CALL_ANYONE, page_notice, NULL, 0},
        {HTTP_GET, "/notices/{notice}/files/{file}", CALL_ANYONE, page_attachment, NULL, 0},
        {HTTP_GET, "/notices/{notice}/revisions/{revision}", CALL_ANYONE, page_revision, NULL, 0},
        {HTTP_GET, "/notices/{notice}/revisions/{revision}/differences", CALL_ANYONE,
         page_differences, differences_inputs, 0},
        {HTTP_GET, "/sign-in", CALL_GUEST, page_sign_in, sign_in_query, R_SECRET},
        {HTTP_POST, "/sign-in", CALL_GUEST, act_sign_in, sign_in_inputs, R_WRITES | R_GUARDED},
        {HTTP_POST, "/sign-in/demo", CALL_GUEST, act_sign_in_demo, demo_inputs, R_WRITES},
        {HTTP_POST, "/sign-out", CALL_ANYONE, act_sign_out, NULL, R_WRITES},
        {HTTP_GET, "/static/{file:rest}", CALL_ANYONE, page_static, static_inputs, R_BARE},
};
const size_t routes_count = sizeof routes / sizeof routes[0];
